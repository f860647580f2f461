"""The command line: what goes where, exit codes, and what a mistake looks like."""

import json
import os
import re
import resource
import subprocess
import sys
from typing import get_args

import pytest

from optimizer.models.gauge_kinds import Kind
from optimizer.models.points import POINTS_OF_LAYOUT

from .case_texts import edited
from .command_line import (
    CASES,
    RESULTS,
    ROOT,
    STRUT,
    WISHBONE,
    changed,
    everything_in,
    process,
    run,
    strictly_json,
)

ERROR = "pivotwright: error: "


@pytest.mark.parametrize("command", RESULTS)
def test_a_broken_case_ends_with_its_faults_and_nothing_else(
    capsys, monkeypatch, tmp_path, broken_case, command
):
    monkeypatch.chdir(tmp_path)
    before = everything_in(tmp_path)
    study = ["--study", str(tmp_path / "study.log")] if command == "suggest" else []
    assert run(command, broken_case.path, "--json", *study) == 2
    out, err = capsys.readouterr()
    listed = strictly_json(out)
    assert list(listed) == ["format", "faults"]
    assert {one["file"] for one in listed["faults"]} == {str(broken_case.path)}
    assert all(one["location"] in err for one in listed["faults"])
    assert err.startswith(f"{ERROR}{broken_case.path}")
    assert err == err.strip() + "\n"
    assert "Traceback" not in err
    for place, words in broken_case.faults:
        assert place in err
        assert all(word in err for word in words.split("|"))
    assert everything_in(tmp_path) == before


@pytest.mark.parametrize("command", RESULTS)
def test_a_broken_case_reads_the_same_from_a_real_process(tmp_path, command):
    text = STRUT.read_text(encoding="utf-8")
    path = tmp_path / "coupe.toml"
    path.write_text(edited(text, {"ride.bump": '"lots"'}, {}), encoding="utf-8")
    ended = process(command, path)
    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr.splitlines()[0] == f"{ERROR}{path} has 1 fault:"
    assert ended.stderr.splitlines()[1].split()[0] == "ride.bump"
    assert len(ended.stderr.splitlines()) == 2


IMPOSSIBLE = {
    "a linkage that can't be joined": (STRUT, "lowered_by", 350.0),
    "more bump than the linkage has": (STRUT, "bump", 390.0),
    "more droop than the linkage has": (WISHBONE, "droop", 390.0),
}


@pytest.mark.parametrize(("car", "key", "length"), IMPOSSIBLE.values(), ids=IMPOSSIBLE)
@pytest.mark.parametrize("command", ["suggest", "check"])
def test_a_car_that_can_t_be_is_refused(capsys, tmp_path, command, car, key, length):
    path = tmp_path / "car.toml"
    path.write_text(changed(car, rf"^{key} +=.*", f"{key} = {length}"), encoding="utf-8")
    assert run(command, path) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"{ERROR}{path} has 1 fault:\n  ride.{key}")


SHIMS = r"shims = \[\n(.*\n)+?\]"
ODD_BUT_READABLE = {
    "points known exactly": (WISHBONE, r"\[aim\]", "[accuracy]\npoints = 0.0\n[aim]"),
    "points known to a hand's breadth": (
        WISHBONE,
        r"\[aim\]",
        "[accuracy]\npoints = 100.0\n[aim]",
    ),
    "one height and a step of nothing": (
        WISHBONE,
        "min = 0.0, max = 30.0, step = 0.5",
        "min = 5.0, max = 5.0, step = 1e-9",
    ),
    "a shelf that can't reach its least height": (
        STRUT,
        "min = 0.0, max = 20.0",
        "min = 60.0, max = 70.0",
    ),
    "a shelf with nothing on it": (STRUT, SHIMS, "shims = [{ thickness = 1.0, count = 0 }]"),
    "bump alone": (WISHBONE, "^droop +=.*", "droop = 0.0"),
    "droop alone": (WISHBONE, "^bump +=.*", "bump = 0.0"),
    "hardly any travel": (WISHBONE, "^bump +=.*\ndroop +=.*", "bump = 0.001\ndroop = 0.001"),
    "no tilt limits": (WISHBONE, "^outer = .*\ninner = .*", ""),
    "a name that looks like styling": (
        WISHBONE,
        "^name   = .*",
        'name = "[bold]Größe[/] :smile: {0} %s"',
    ),
    "a raised car": (WISHBONE, "^lowered_by +=.*", "lowered_by = -30.0"),
    "a wanted toe gain": (WISHBONE, r"\[aim\]", "[aim]\ntoe_gain_deg_per_10mm = 15.0"),
}


@pytest.mark.parametrize(
    ("car", "pattern", "replacement"), ODD_BUT_READABLE.values(), ids=ODD_BUT_READABLE
)
@pytest.mark.parametrize("command", RESULTS)
def test_an_odd_case_is_answered_or_refused_in_a_sentence(
    capsys, tmp_path, command, car, pattern, replacement
):
    path = tmp_path / "odd.toml"
    path.write_text(changed(car, pattern, replacement), encoding="utf-8")
    code = run(command, path)
    out, err = capsys.readouterr()
    assert code in (0, 1, 2)
    assert (out == "") == (code == 2)
    assert (err == "") == (code != 2)


# --- what is too much


def within_two_gigabytes() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (2 << 30, 2 << 30))


def test_a_shelf_beyond_counting_is_refused_before_memory_runs_out(tmp_path):
    # Two thicknesses that never add up alike, a thousand of each, build a million stacks; the
    # sentence must come before they are all listed.
    shims = "shims = [{thickness = 0.7311, count = 1000}, {thickness = 0.9177, count = 1000}]"
    path = tmp_path / "shelf.toml"
    path.write_text(edited(changed(STRUT, SHIMS, shims), {"outer_pivot.stack": ""}, {}))

    ended = process("check", path, preexec_fn=within_two_gigabytes)
    assert (ended.returncode, ended.stdout) == (2, "")
    assert "different stacks" in ended.stderr


def test_three_hundred_parts_around_are_followed_in_possible_cars_within_two_gigabytes(tmp_path):
    tubes = "".join(
        f"""
[[obstacles]]
kind = "tube"
name = "tube {k}"
fixed_to = "chassis"
start = [{-150.0 + k}, 380.0, 330.0]
end = [{-150.0 + k}, 380.0, 430.0]
diameter = 6.0
"""
        for k in range(300)
    )
    path = tmp_path / "tubes.toml"
    path.write_text(STRUT.read_text(encoding="utf-8") + tubes, encoding="utf-8")
    ended = process("suggest", path, "--json", preexec_fn=within_two_gigabytes)
    assert ended.returncode in (0, 1), ended.stderr
    (first, *_) = json.loads(ended.stdout)["ranked"]
    assert 0.0 <= first["chances"]["keeps_limits_probability"] <= 1.0


# --- options

BAD_OPTIONS = [
    ("curve", "--bump", "-5", "must be 0 or more"),
    ("curve", "--droop", "-0.1", "must be 0 or more"),
    ("curve", "--bump", "nan", "must be a length such as"),
    ("curve", "--bump", "inf", "must be a length such as"),
    ("curve", "--bump", "lots", "must be a length such as"),
    ("curve", "--bump", "", "must be a length such as"),
    ("curve", "--outer-drop", "1e9", "must be a length such as"),
    ("curve", "--rack-raise", "5cm", "must be a length such as"),
    ("curve", "--rack-raise", "3/0in", "must be a length such as"),
    ("curve", "--rack-raise", "1/2/3in", "must be a length such as"),
    ("curve", "--step", "0", "must be 0.1 mm or more"),
    ("curve", "--step", "-10", "must be 0.1 mm or more"),
    ("curve", "--wheels", "4", "has no option"),
    ("suggest", "--trials", "0", "must be a whole number"),
    ("suggest", "--trials", "2.5", "must be a whole number"),
    ("suggest", "--trials", "-1", "must be a whole number"),
    ("suggest", "--trials", "²", "must be a whole number"),
    ("suggest", "--show", "0", "must be a whole number"),
    ("suggest", "--seed", "-1", "must be a whole number"),
    ("suggest", "--seed", "99999999999", "must be a whole number"),
    ("check", "--bump", "5", "has no option"),
]


@pytest.mark.parametrize(("command", "option", "value", "words"), BAD_OPTIONS)
def test_an_option_that_makes_no_sense_is_refused(capsys, command, option, value, words):
    assert run(command, STRUT, f"{option}={value}") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert option in err
    assert words in err
    assert "Traceback" not in err


@pytest.mark.parametrize("arguments", [["improve", STRUT], ["suggest"], ["curve", STRUT, STRUT]])
def test_a_command_line_that_makes_no_sense_is_refused(capsys, arguments):
    assert run(*arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("pivotwright: error: ")
    assert len(err.splitlines()) == 1


# --- new, help, pipes


@pytest.mark.parametrize("layout", POINTS_OF_LAYOUT)
def test_a_starter_passes_the_check(capsys, tmp_path, layout):
    assert run("new", layout) == 0
    path = tmp_path / "mine.toml"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    assert run("check", path) == 0
    assert layout in capsys.readouterr().out


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("kind", get_args(Kind))
def test_starter_readings_are_a_sweep_without_a_slip(capsys, tmp_path, kind, units):
    assert run("new", "readings", kind, "--units", units) == 0
    path = tmp_path / "sweep.toml"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    # They are roughly those of this car, so that a newcomer can try them.
    assert run("gauge", CASES / "track-wishbone.toml", path, "--json") in (0, 1)
    answer = json.loads(capsys.readouterr().out)
    assert answer["questions"] == []
    (wheel,) = answer["wheels"]
    assert [one for one in wheel["questions"] if "of which" not in one] == []  # what it sees too
    if kind != "single-dial":  # which is read as toe here without what the wheel moves sideways
        assert wheel["measured"]["toe_slope_deg_per_10mm"] == pytest.approx(-0.085, abs=0.03)
    assert not wheel["contradictory"]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("kind", ["two-dial", "angle"])
def test_readings_beside_toe_of_a_starter_are_of_the_same_car(capsys, tmp_path, kind, units):
    assert run("new", "readings", kind, "--units", units) == 0
    head, _, beside = capsys.readouterr().out.partition("# Beside the toe")
    path = tmp_path / "visit.toml"
    path.write_text(head + "# " + re.sub(r"(?m)^#(?=[a-z\[])", "", beside), encoding="utf-8")
    assert run("gauge", CASES / "track-wishbone.toml", path, "--json") in (0, 1)
    (wheel,) = json.loads(capsys.readouterr().out)["wheels"]
    told = {one["key"]: one for one in wheel["facts"]["read_beside"]}
    assert set(told) == {
        "rod_turned[1]",
        "sideways",
        "camber",
        "steered",
        "turn_toe_out",
        "caster_sweep",
    }
    for one in told.values():
        unit = "deg" if "seen_deg" in one else "mm"
        apart = abs(one[f"seen_{unit}"] - one[f"foretold_{unit}"])
        assert apart < 2.0 * one[f"give_or_take_{unit}"]
    assert not wheel["contradictory"]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_starter_kits_can_be_tried(capsys, tmp_path, units):
    assert run("new", "kits", "--units", units) == 0
    path = tmp_path / "kits.toml"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    assert run("suggest", STRUT, "--kits", path, "--json") in (0, 1)
    out, err = capsys.readouterr()
    assert err == ""
    assert {kit["name"] for kit in json.loads(out)["kits"]} == {
        "Washers on the standard stud",
        "Adjustable stud",
    }


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["readings"], "say which gauge; there are two-dial"),
        (["readings", "sextant"], 'there is no gauge "sextant"'),
        (["strut", "two-dial"], "takes nothing more"),
        (["readings", "string", "--points", "a.csv"], "--points"),
    ],
)
def test_a_starter_that_there_is_not_is_refused(capsys, arguments, said):
    assert run("new", *arguments) == 2
    assert said in capsys.readouterr().err


def test_a_starter_for_an_unknown_layout_is_refused(capsys):
    assert run("new", "leaf-spring") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "leaf-spring" in err
    assert all(layout in err for layout in POINTS_OF_LAYOUT)
    assert err.count("\n") == 1


@pytest.mark.parametrize("command", [None, "suggest", "curve", "check", "new"])
def test_help_says_what_a_command_is_for(capsys, command):
    assert run(*([] if command is None else [command]), "--help") == 0
    out, err = capsys.readouterr()
    assert out.startswith("usage: pivotwright")
    assert err == ""
    if command is None:
        assert all(name in out for name in ["suggest", "curve", "check", "new"])
        assert "meets the limits and the tolerance" in " ".join(out.split())
    else:
        assert "--json" in out


def test_the_program_starts_as_a_process_of_its_own():
    ended = process("--help")
    assert (ended.returncode, ended.stderr) == (0, "")
    assert ended.stdout.startswith("usage: pivotwright")


@pytest.mark.parametrize(
    "arguments",
    [["new", "strut"], ["curve", STRUT], ["suggest", STRUT, "--json"]],
    ids=["new", "curve", "suggest"],
)
def test_a_reader_that_has_gone_is_no_mistake(arguments):
    reading, writing = os.pipe()
    os.close(reading)
    try:
        ended = subprocess.run(
            [sys.executable, "-m", "optimizer.cli", *map(str, arguments)],
            stdout=writing,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            check=False,
        )
    finally:
        os.close(writing)
    assert (ended.returncode, ended.stderr) == (0, "")


def test_a_terminal_that_knows_only_ascii_gets_a_report_or_a_sentence(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(changed(WISHBONE, "^name   = .*", 'name = "Größe"'), encoding="utf-8")
    ended = process("check", path, env=os.environ | {"PYTHONIOENCODING": "ascii"})
    assert "Traceback" not in ended.stderr
    assert (ended.returncode == 0) == bool(ended.stdout)
    assert ended.returncode in (0, 2)
