"""What people mistype: each slip gets one line that mends it, and exit code 2 or a doubt.

The slips are of the kinds that people make with any such program; common practice, no source.
"""

import re
from pathlib import Path

import pytest

from tests.optimizer.command_line import CASES, STRUT, WISHBONE, run

SWEEP, KITS, INCHES = (
    CASES / name for name in ("readings/lowered-strut.toml", "kits.toml", "kit-car-inches.toml")
)

# What is typed, and the words of the one line that mends it.
COMMANDS = [
    (["sugest", STRUT], "there is no command sugest; did you mean suggest?"),
    (["optimize", STRUT], "there is no command optimize; did you mean suggest?"),
    (["measure", STRUT, SWEEP], "there is no command measure; did you mean gauge?"),
    (["help"], "there is no command help; did you mean --help?"),
    (["new", "macpherson"], 'got "macpherson"; did you mean strut?'),
    (["new", "a-arm"], 'got "a-arm"; did you mean double-wishbone?'),
    (["new", "Solid axle"], 'got "Solid axle"; did you mean beam-axle?'),
    (["new", "Leaf springs"], 'got "Leaf springs"; did you mean leaf-axle?'),
    (["new", "multilink"], 'got "multilink"; did you mean five-link?'),
    (["suggest", "--case", STRUT], "name the case without one: suggest CASE"),
    (["suggest", CASES / "lowered-strut"], "did you mean "),
    (["suggest", STRUT, "--outer-drop", "3"], "suggest has no option --outer-drop; curve and"),
    (["suggest", STRUT, "--lowered-by", "30"], "; the case says it, under [ride]"),
    (["reach", STRUT, "--lowered-by", "30"], "; did you mean --heights A:B:STEP?"),
    (["suggest", STRUT, "-q"], "suggest has no option -q; did you mean --quiet?"),
    (["suggest", STRUT, "-z"], "suggest has no option -z; suggest --help lists what it takes"),
    (["suggest", STRUT, "-"], "suggest does not take -;"),
    (["curve", STRUT, "--outer_drop", "3"], "did you mean --outer-drop?"),
    (["curve", STRUT, "--drop", "3"], "did you mean --outer-drop?"),
    (["curve", STRUT, "--outer-drop", "3,5"], "must be a length such as 9.5, 9.5mm, 0.375in"),
    (["curve", STRUT, "--outer-drop", "120"], "120 mm is more than anyone fits; a zero too many?"),
    (["curve", INCHES, "--outer-drop", "12"], "a bare 12 is 12 inches here; write 12mm or 12in"),
    (["curve", INCHES, "--outer-drop", "4"], "a bare 4 is 4 inches here; write 4mm or 4in"),
    (["curve", STRUT, "--bump=-50"], "must be 0 or more, got '-50'"),
    (["reach", STRUT, "--heights", "0-40"], "must be A:B:STEP, such as 0:60:5"),
    (["gauge", SWEEP, STRUT], "is a case file; name one case at most, before the readings"),
    (["gauge", STRUT], "name one readings file or more after the case"),
    (["check", SWEEP], "is a readings file; write: pivotwright gauge CASE READINGS"),
    (["check", KITS], "is a kits file; name a case, and this file after --kits"),
    (["suggest", STRUT, "--kits", WISHBONE], "is a case file; --kits names a file of kits"),
]

# What of the strut car's file is typed otherwise, and the words of the line that mends it.
FILES = [
    (r"^layout = .*", 'layout = "macpherson"', 'layout must be "strut", .* did you mean strut\\?'),
    (r"^\[points\]\n", "", r"write \[points\] on a line of its own above lower_arm_front"),
    (r"^\[wheel\]\n", "", r"write \[wheel\] on a line of its own above toe_deg"),
    (r"^\[ride\]\n", "", r"is a header such as \[ride\] lost\?"),
    (r"^\[points\]", "[point]", r"point is not a known key; did you mean points\?"),
    (r"^units .*", 'units = "inches"', 'units must be "mm" or "in", .* did you mean in\\?'),
    (r"^units .*", 'units = "in"', 'units must be "mm", it seems, got "in"'),
    (r"^lowered_by = .*", "lowered_by = 40,0", "decimals take a point, not a comma"),
    (r"^lowered_by = .*", "lowered_by = 40mm", "numbers stand without a unit"),
    (r"^lowered_by = .*", "lowered_by = 400.0", "ride.lowered_by .* lower the car less"),
    (r"^layout = .*", "layout = strut", 'text stands in quotes: "strut"'),
    (r"^tire_radius = .*", "tire_radius = 3180.0", "wheel.tire_radius must be between 100 mm"),
    (r"^bump .*", "bump = 500.0", "ride.bump must be between 0 mm and 400 mm, got 500 mm"),
    (r"^droop .*", "droop = -60.0", r"ride.droop must be 0 or more, got -60.0"),
    (r"^(tie_rod_outer *= \[[^,]+, *)", r"\1-", "with y above 0, .* is the sign right"),
    (r"^(strut_top *= \[[^,]+,[^,]+),.*", r"\1]", r"must be three numbers \[x, y, z\]"),
]

# The same, of what could be so: a doubt that `check` tells.
DOUBTED = [
    (r"^(\[wheel\]\n)toe_deg .*", r"\1toe_deg = 15.0", "are these minutes, or is a point lost"),
    (r"^tolerance_deg .*", "tolerance_deg = 5.0", "is a point lost?"),
]


@pytest.mark.parametrize("typed", ["my-car.toml", "strut.toml", "lowered-car.toml", "coupe.toml"])
def test_a_file_that_is_not_there_is_not_taken_for_one_that_is_called_otherwise(capsys, typed):
    assert run("check", CASES / typed) == 2
    err = capsys.readouterr().err
    assert err.endswith(f"{typed} does not exist\n")


@pytest.mark.parametrize("typed", ["track-wishbne.toml", "track-wishbone", "track_wishbone.tml"])
def test_a_file_whose_name_has_a_slip_is_asked_for(capsys, typed):
    assert run("check", CASES / typed) == 2
    assert f"did you mean {WISHBONE}?" in capsys.readouterr().err


def of_strut(tmp_path: Path, pattern: str, replacement: str) -> Path:
    text, times = re.subn(pattern, replacement, STRUT.read_text("utf-8"), count=1, flags=re.M)
    assert times == 1
    path = tmp_path / "car.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(("typed", "mends"), COMMANDS)
def test_a_command_line_that_is_mistyped_gets_one_line_that_mends_it(capsys, typed, mends):
    assert run(*typed) == 2
    out, err = capsys.readouterr()
    assert out == ""
    (line,) = err.splitlines()
    assert mends in line


@pytest.mark.parametrize(("pattern", "replacement", "mends"), FILES)
def test_a_file_that_is_mistyped_gets_one_fault_that_mends_it(
    tmp_path, capsys, pattern, replacement, mends
):
    assert run("check", of_strut(tmp_path, pattern, replacement)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert re.search(mends, " ".join(err.split()))
    assert re.search("has [12] faults?:", err)


@pytest.mark.parametrize(("pattern", "replacement", "mends"), DOUBTED)
def test_what_could_be_so_but_is_hardly_meant_is_doubted(
    tmp_path, capsys, pattern, replacement, mends
):
    assert run("check", of_strut(tmp_path, pattern, replacement)) == 0
    assert mends in " ".join(capsys.readouterr().out.split())
