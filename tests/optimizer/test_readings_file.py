"""Readings files: what is read, and every way of getting one wrong."""

from pathlib import Path

import pytest

from optimizer.cli.main import main
from optimizer.errors import CaseFileError
from optimizer.files.readings_file import read_readings
from optimizer.gauging.conversions import wheel_travel

LENGTH_ATOL_MM = 1e-9
ROOT = Path(__file__).parents[2]
SWEEPS = sorted((ROOT / "cases" / "readings").glob("*.toml"))
CASE = ROOT / "cases" / "lowered-strut.toml"

GOOD = """
format = 1
name = "Sweep"
units = "in"
kind = "two-dial"
spacing = 20.0
reading_grows = "outboard"
outer_drop = 0.25
"""
ROWS = "readings = [[1.0, 0.0, 0.1], [0.0, 0.0, 0.0], [-1.0, 0.0, -0.1]]\n"

BROKEN = {
    "no kind": ("", [("kind", "must be given|two-dial")], {"kind": None}),
    "a kind that nobody makes": ("", [("kind", 'must be "two-dial"|got "sextant"')],
                                 {"kind": '"sextant"'}),
    "no spacing": ("", [("spacing", 'must be given where kind is "two-dial"')], {"spacing": None}),
    "no dial direction": ("", [("reading_grows", "must be given")], {"reading_grows": None}),
    "a dial direction that is none": (
        "", [("reading_grows", 'must be "outboard", "inboard"|got "up"')],
        {"reading_grows": '"up"'},
    ),
    "a spacing of nothing": ("", [("spacing", "must be above 0, got 0")], {"spacing": "0"}),
    "a length too short to be one": (
        'car = { rod_length = 13.0, steering_arm = 1e-320, arms = "behind" }',
        [("car.steering_arm", "must be 3.94e-08 in or more, got 1e-320 in")], {},
    ),
    "a misspelled key": ("spacin = 20.0", [("spacin", "did you mean spacing?")], {}),
    "a length of another gauge": (
        "target_ahead = 100.0", [("target_ahead", 'must be left out where kind is "two-dial"')], {}
    ),
    "another format": ("", [("format", "must be 1|got 2")], {"format": "2"}),
    "true for a format": ("", [("format", "must be 1|got true")], {"format": "true"}),
    "units that are none": ("", [("units", 'must be "mm" or "in", got "cm"')],
                            {"units": '"cm"'}),
    "noise of nothing": ("noise = 0.0", [("noise", "must be above 0")], {}),
    "a stack taller than the car": (
        "", [("outer_drop", "must be between|-15.748 in and 15.748 in|got 40 in")],
        {"outer_drop": "40.0"},
    ),
    "half of the used travel": ("used = { bump = 2.0 }", [("used.droop", "must be given")], {}),
    "a used travel of nothing": (
        "used = { bump = 0.0, droop = 0.0 }", [("used.bump", "above 0 where droop is 0")], {},
    ),
    "arms on a side that is none": (
        'car = { arms = "rear" }', [("car.arms", 'must be "ahead" or "behind", got "rear"')], {}
    ),
    "a rear axle that is steered": (
        'car = { axle = "rear", steering = "rack" }',
        [("car.steering", 'must be left out where axle is "rear"|toe link')], {},
    ),
    "a band turned over": (
        "aim = { band = [[-1.0, 0.2, 0.1], [1.0, -0.1, 0.1]] }",
        [("aim.band[1]", "must be [travel, least, most]")], {},
    ),
    "a band of one height": (
        "aim = { band = [[0.0, 0.1, 0.2]] }", [("aim.band", "two heights or more")], {}
    ),
    "a toe distance without a diameter": (
        'display = { toe_unit = "mm" }', [("display.diameter", "must be given")], {}
    ),
    "hub to arch without ride height": (
        'travel_is = "hub-to-arch"',
        [("at_ride_height", 'must be given where travel_is is "hub-to-arch"')], {},
    ),
    "one for true": ("total = 1", [("total", "must be true or false, got 1")], {}),
    "a CSV beside rows": ('readings_csv = "sweep.csv"', [("readings_csv", "must be left out")], {}),
}  # fmt: skip

BROKEN_ROWS = {
    "no rows": ("", [("readings", "must be given|travel first")]),
    "an empty list of rows": ("readings = []", [("readings", "two different heights or more")]),
    "one static reading": (
        "readings = [[0.0, 0.0, 0.1]]",
        [("readings", "two different heights|one reading tells static toe")],
    ),
    "one height three times": (
        "readings = [[1, 0, 0], [1, 0, 0], [1, 0, 0]]", [("readings", "two different heights")]
    ),
    "heights that are one but for a slip": (
        "readings = [[0, 0, 0], [1e-9, 0, 1], [2e-9, 0, 2]]",
        [("readings", "two different heights")],
    ),
    "a row without a dial": (
        "readings = [[1, 0, 0], [0, 0], [-1, 0, 0]]",
        [("readings[2]", "must be [travel, front, rear], got 2 numbers")],
    ),
    "a row with its travel alone": (
        "readings = [[1, 0, 0], [0], [-1, 0, 0]]",
        [("readings[2]", "must be [travel, front, rear], got one number")],
    ),
    "a word in a row": (
        'readings = [[1, 0, 0], [0, "zero", 0], [-1, 0, true]]',
        [("readings[2]", 'must be a number, got "zero"'), ("readings[3]", "a number, got true")],
    ),
    "a row that is a number": ("readings = [1, 0, -1]", [("readings[1]", "a list of numbers")]),
    "rows that are none": ('readings = "sweep"', [("readings", "must be a list of rows")]),
    "rows of infinity": (
        "readings = [[1, 0, inf], [0, 0, 0], [-1, 0, 0]]", [("readings[1]", "finite number")]
    ),
    "a dial as long as a street": (
        "readings = [[1, 0, 0], [0, 0, 9e9], [-1, 0, 0]]", [("readings[2]", "too large a number")]
    ),
    "a CSV without a name": ("readings_csv = 3", [("readings_csv", "must be the name of a file")]),
}  # fmt: skip


def with_keys(keys):
    """The good file with some keys replaced, or left out where None."""
    lines = []
    for line in GOOD.splitlines():
        key = line.split(" = ")[0]
        if keys.get(key, "") is None:
            continue
        lines.append(f"{key} = {keys[key]}" if key in keys else line)
    return "\n".join(lines)


ALL_BROKEN = {
    about: (f"{with_keys(keys)}\n{more}\n{ROWS}", faults)
    for about, (more, faults, keys) in BROKEN.items()
} | {about: (f"{GOOD}{rows}\n", faults) for about, (rows, faults) in BROKEN_ROWS.items()}


@pytest.mark.parametrize("about", ALL_BROKEN)
def test_broken_readings_end_with_code_2_and_name_every_fault_where_it_is(about, tmp_path, capsys):
    text, faults = ALL_BROKEN[about]
    path = tmp_path / "sweep.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["gauge", str(CASE), str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert str(path) in err
    located = {line.split()[0]: line for line in err.splitlines() if line.startswith("  ")}
    for location, words in faults:
        assert location in located
        assert all(word in err for word in words.split("|")), err


@pytest.mark.parametrize("path", SWEEPS, ids=lambda path: path.stem)
def test_every_demo_sweep_is_read(path):
    sweep = read_readings(path)
    assert len(sweep.readings) >= 9
    assert wheel_travel(sweep).min() < 0.0 < wheel_travel(sweep).max()


def test_lengths_of_a_file_in_inches_are_kept_in_millimeters(tmp_path):
    path = tmp_path / "sweep.toml"
    path.write_text(GOOD + ROWS, encoding="utf-8")
    sweep = read_readings(path)
    assert sweep.spacing == pytest.approx(508.0, abs=LENGTH_ATOL_MM)
    assert sweep.outer_drop == pytest.approx(6.35, abs=LENGTH_ATOL_MM)
    assert sweep.readings[0] == pytest.approx((25.4, 0.0, 2.54), abs=LENGTH_ATOL_MM)


@pytest.mark.parametrize("heading", ["", "travel,front,rear\n"])
def test_rows_may_stand_in_a_csv_beside_the_file(tmp_path, heading):
    (tmp_path / "sweep.csv").write_text(
        f"{heading}1.0,0.0,0.1\n\n0.0, 0.0, 0.0\n-1.0,0.0,-0.1\n", encoding="utf-8"
    )
    inline, beside = tmp_path / "inline.toml", tmp_path / "beside.toml"
    inline.write_text(GOOD + ROWS, encoding="utf-8")
    beside.write_text(GOOD + 'readings_csv = "sweep.csv"\n', encoding="utf-8")
    assert read_readings(beside) == read_readings(inline)


@pytest.mark.parametrize(
    "content",
    [
        "1,0,0.1\n,,\n0,0,0\n\n-1,0,-0.1\n,,,\n",
        "1,0,0.1,\n0,0,0,\n-1,0,-0.1,,\n",
        "# my sweep; left front\ntravel,front,rear\nin,in,in\n1,0,0.1\n0,0,0\n-1,0,-0.1\n",
        "travel;front;rear\n1;0;0,1\n0;0;0\n-1,0;0;-0,1\n",
        "travel\tfront\trear\n1\t0\t0.1\n0\t0\t0\n-1\t0\t-0,1\n",
        '"1","0","0.1"\r\n"0","0","0"\r\n"-1","0","-0.1"\r\n',
        "\ufeff1,0,0.1\n0,0,0\n\u22121,0,\u22120.1\n",
        "My car; my sweep\n1,0,0.1\n0,0,0\n-1,0,-0.1\n",
    ],
    ids=[
        "empty rows",
        "commas at the end",
        "a comment and a row of units",
        "semicolons and decimal commas",
        "tabs",
        "quotes",
        "a typographer's minus",
        "a title with a semicolon",
    ],
)
def test_a_csv_may_look_as_spreadsheets_write_it(tmp_path, content):
    (tmp_path / "sweep.csv").write_bytes(content.encode())
    inline, beside = tmp_path / "inline.toml", tmp_path / "beside.toml"
    inline.write_text(GOOD + ROWS, encoding="utf-8")
    beside.write_text(GOOD + 'readings_csv = "sweep.csv"\n', encoding="utf-8")
    assert read_readings(beside) == read_readings(inline)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "sweep.csv does not exist"),
        ("", "readings_csv +must name a file with rows of numbers, sweep.csv holds none"),
        ("one,two,three\n", "readings_csv +must name a file with rows of numbers"),
        (
            "t,f,r\n1.0,zero,0.1\n0,0,0\n",
            r'line 2 +front must be a number, got a cell of the shape "aaaa"\n +\(every letter',
        ),
        ("1,0,nan\n0,0,0\n-1,0,0\n", r"sweep\.csv line 1 +must be a finite number, got nan"),
        (
            "1,0,0.1\n\n0,,0\n-1,0,0\n",
            r"sweep\.csv line 3 +front must be a number, got none",
        ),
        ("1,0\n0,0,0\n-1,0,0\n", r"line 1 +must be \[travel, front, rear\], got 2 numbers"),
        (
            "1 in,0,0.1\n0,0,0\n-1,0,0\n",
            r'line 1 +travel must be a number, got a cell of the shape "9 aa"',
        ),
        (
            '1,"0,5",0.1\n0,0,x\n-1,0,0\n',
            r'(?s)line 1 +front must be .* shape "9,9".* line 2 +rear must be .* shape "a"',
        ),
        ("1.0;0.0;0.1\n", r"readings +must be at two different heights"),
        ('1.0,0,0\n1.0,"0.0\n', r"sweep\.csv has 1 fault:\n +line 2 +is not CSV"),
    ],
)
def test_a_csv_that_holds_no_rows_is_refused(tmp_path, content, words):
    if content is not None:
        (tmp_path / "sweep.csv").write_text(content, encoding="utf-8")
    path = tmp_path / "sweep.toml"
    path.write_text(GOOD + 'readings_csv = "sweep.csv"\n', encoding="utf-8")
    with pytest.raises(CaseFileError, match=words):
        read_readings(path)


@pytest.mark.parametrize(
    "heading", ["travel,rear,front\n", "My sweep\nFRONT dial (in),Rear dial (in),Travel (in)\n"]
)
def test_a_csv_whose_heading_has_the_columns_in_another_order_is_refused(tmp_path, heading):
    (tmp_path / "sweep.csv").write_text(f"{heading}1,0,0.1\n0,0,0\n-1,0,-0.1\n", encoding="utf-8")
    path = tmp_path / "sweep.toml"
    path.write_text(GOOD + 'readings_csv = "sweep.csv"\n', encoding="utf-8")
    words = (
        r"sweep\.csv line \d +must be travel, front, rear, in that order, got (travel|front), rear"
    )
    with pytest.raises(CaseFileError, match=words):
        read_readings(path)


def csv_of(folder, text, heading):
    (folder / "sweep.csv").write_text(f"{heading}\n1,0,0.1\n0,0,0\n-1,0,-0.1\n", encoding="utf-8")
    path = folder / "sweep.toml"
    path.write_text(text + 'readings_csv = "sweep.csv"\n', encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("units", "heading", "words"),
    [
        ("mm", "travel (mm),front dial (in),rear dial (in)", ("front", "in", 'units = "mm"')),
        ("mm", "travel [in],front,rear", ("travel", "in", 'units = "mm"')),
        ("mm", "travel,front,rear\nmm,mm,in", ("rear", "in", 'units = "mm"')),
        ("in", "h_mm,a,b", ("travel", "mm", 'units = "in"')),
        ("in", "travel,front inches,rear (deg)", ("rear", "deg", 'units = "in"')),
        ("in", "travel,front thou,rear thou", ("front", "thou", 'units = "in"')),
        ("mm", "Travel_cm,front,rear", ("travel", "cm", 'units = "mm"')),
        ("mm", "travel,front (0.01 mm),rear", ("front", "0.01 mm", 'units = "mm"')),
    ],
)
def test_a_heading_in_another_unit_than_the_file_s_is_refused(tmp_path, units, heading, words):
    path = csv_of(tmp_path, GOOD.replace('"in"', f'"{units}"'), heading)
    column, named, said = words
    with pytest.raises(CaseFileError, match=f'heading of {column} says "{named}", but {said}'):
        read_readings(path)


@pytest.mark.parametrize(
    "heading", ["travel in bump,toe in front,rear", "travel (in),front, inches,rear (in)", "a,b,c"]
)
def test_a_heading_in_the_file_s_unit_or_in_none_is_read(tmp_path, heading):
    assert len(read_readings(csv_of(tmp_path, GOOD, heading)).readings) == 3
    metric = heading.replace("(in)", "(mm)").replace("inches", "")
    path = csv_of(tmp_path, GOOD.replace('"in"', '"mm"').replace("20.0", "500.0"), metric)
    assert len(read_readings(path).readings) == 3


def test_a_heading_in_minutes_is_refused_of_degrees(tmp_path):
    text = 'format = 1\nunits = "mm"\nkind = "angle"\n'
    (tmp_path / "sweep.csv").write_text("mm,toe (min)\n1,0\n0,0\n-1,0\n", encoding="utf-8")
    path = tmp_path / "sweep.toml"
    path.write_text(text + 'readings_csv = "sweep.csv"\n', encoding="utf-8")
    with pytest.raises(CaseFileError, match='heading of toe says "min", but angle_unit = "deg"'):
        read_readings(path)
    path.write_text(text + 'angle_unit = "min"\nreadings_csv = "sweep.csv"\n', encoding="utf-8")
    assert len(read_readings(path).readings) == 3


def test_a_sweep_without_a_name_is_called_by_its_file(tmp_path):
    path = tmp_path / "left front 2.toml"
    path.write_text(GOOD.replace('name = "Sweep"\n', "") + ROWS, encoding="utf-8")
    assert read_readings(path).name == "left front 2"


def test_a_distance_longer_than_the_gauge_is_refused_by_its_row(tmp_path, capsys):
    path = tmp_path / "sweep.toml"
    path.write_text(
        'format = 1\nunits = "mm"\nkind = "string"\nspacing = 20.0\nreading_grows = "outboard"\n'
        "readings = [[-10, 0, 1], [0, 0, 0], [10, 0, 30]]\n",
        encoding="utf-8",
    )
    assert main(["gauge", str(path)]) == 2
    assert "readings[3] shows a toe distance longer than the gauge" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([CASE], "name one readings file or more after the case"),
        ([SWEEPS[0], CASE], "is a case file; name one case at most, before the readings"),
        ([CASE, "no-such.toml"], "no-such.toml does not exist"),
        ([SWEEPS[0], "--write", "corrected.toml"], "there is no case to correct"),
        ([CASE, SWEEPS[0], SWEEPS[0]], "is named twice; each sweep counts once"),
        (
            [CASE, SWEEPS[0], "--write", SWEEPS[0], "--overwrite"],
            "is read by this command or written",
        ),
        ([CASE, SWEEPS[0], "--write", ROOT, "--overwrite"], "must be a file in a folder"),
        ([CASE, SWEEPS[0], "--write", ROOT], "must be a file in a folder"),
        ([CASE, SWEEPS[0], "--write", ROOT / "no" / "such.toml"], "must be a file in a folder"),
    ],
)
def test_files_in_the_wrong_place_are_refused(arguments, words, capsys):
    assert main(["gauge", *map(str, arguments)]) == 2
    out, err = capsys.readouterr()
    assert (out, words in err) == ("", True), err


def test_thousandths_typed_as_inches_are_asked_about(tmp_path):
    path = tmp_path / "thou.toml"
    path.write_text(
        'format = 1\nunits = "in"\nkind = "two-dial"\nspacing = 20.0\n'
        'reading_grows = "outboard"\nreadings = [[2, -196, -394], [0, 0, 0], [-2, 213, 420]]\n',
        encoding="utf-8",
    )
    with pytest.raises(CaseFileError, match=r"Type 0\.213 for 213 thousandths"):
        read_readings(path)
