"""Points from a table: axes, units, names that people use, and one message for what is unclear."""

import os
from operator import mul
from pathlib import Path
from threading import Thread

import pytest

from optimizer.cli.main import main
from optimizer.errors import CaseFileError, PivotwrightError
from optimizer.files.case_file import case_from_toml
from optimizer.files.point_table import axes_of, case_from_table, points_from_table, recognized
from optimizer.files.starters import starter_case
from optimizer.models.points import POINTS_OF_LAYOUT, BeamAxlePoints, StrutPoints
from tests.optimizer.gauging.garage_cars import STRUT as ISO

LENGTH_ATOL_MM = 1e-9

AS_PEOPLE_SAY = dict(
    zip(
        ISO,
        (
            "LCA front",
            "Lower control arm - rear",
            "LBJ",
            "Top mount",
            "strut lower",
            "Rack end",
            "TRE",
            "Wheel centre",
        ),
        strict=True,
    )
)
CONVENTIONS = {
    "forward,left,up": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "rearward,right,up": ((-1, 0, 0), (0, -1, 0), (0, 0, 1)),
    "forward,right,down": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "left,up,rearward": ((0, 1, 0), (0, 0, 1), (-1, 0, 0)),
}


def written(path: Path, convention: str, inch: float = 1.0) -> Path:
    """Write the car as its owner would, in some axes and units."""
    lines = ["name,x,y,z"]
    for name, point in ISO.items():
        along = [
            sum(a * p for a, p in zip(axis, point, strict=True)) / inch
            for axis in CONVENTIONS[convention]
        ]
        lines.append(",".join([AS_PEOPLE_SAY[name], *map(repr, along)]))
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


@pytest.mark.parametrize("convention", CONVENTIONS)
@pytest.mark.parametrize(("unit", "inch"), [("mm", 1.0), ("in", 25.4)])
def test_the_same_car_comes_out_of_any_axes_and_units(
    tmp_path: Path, convention: str, unit: str, inch: float
) -> None:
    table = written(tmp_path / "points.csv", convention, inch)
    text = case_from_table(table, "strut", convention, unit)
    case = case_from_toml(text, "case")
    for name, point in case.points.model_dump().items():
        assert point == pytest.approx(ISO[name], abs=LENGTH_ATOL_MM)


@pytest.mark.parametrize("layout", POINTS_OF_LAYOUT)
@pytest.mark.parametrize("convention", CONVENTIONS)
@pytest.mark.parametrize(("unit", "inch"), [("mm", 1.0), ("in", 25.4)])
def test_a_car_of_every_layout_comes_out_of_any_axes_and_units(
    tmp_path: Path, layout: str, convention: str, unit: str, inch: float
) -> None:
    points = case_from_toml(starter_case(layout), layout).points.model_dump()
    rows = [
        [name.replace("_", " "), *(sum(map(mul, axis, point)) / inch for axis in axes)]
        for name, point in points.items()
        for axes in [CONVENTIONS[convention]]
    ]
    table = tmp_path / "points.csv"
    table.write_text("\n".join(",".join(map(str, row)) for row in rows), encoding="utf-8")
    found = points_from_table(table, layout, convention, unit)
    assert list(found) == list(points)
    for name, point in points.items():
        assert found[name] == pytest.approx(point, abs=LENGTH_ATOL_MM)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Pitman ball", "drag_link_inner"),
        ("drag link - knuckle", "drag_link_outer"),
        ("King pin, upper", "kingpin_upper"),
        ("cross rod end LH", "cross_rod_end"),
        ("Link 1 (frame)", "link_1_inner"),
        ("tie rod end", None),
    ],
)
def test_names_of_an_axle_s_points_are_known_or_asked_about(said: str, meant: str | None) -> None:
    assert recognized(said, list(BeamAxlePoints.model_fields)) == meant


def test_what_is_unclear_is_asked_about_in_one_message(tmp_path: Path) -> None:
    table = tmp_path / "points.csv"
    table.write_text("LBJ;0;735;190\nfunny point;1;2;3\nTRE;1;x;3\nlbj left;0;1;2\n")
    with pytest.raises(CaseFileError, match="funny point") as caught:
        points_from_table(table, "strut", "forward left up", "mm")
    message = str(caught.value)
    assert "line 2" in message
    assert 'line 3   must hold three numbers, got "x"' in message
    assert "line 4" in message
    assert "lower_arm_front, lower_arm_rear, strut_top, strut_axis\n" in message


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("LBJ,nan,735,190", r'line 1 +must hold three finite numbers, got "nan"'),
        ("LBJ,0,1e999,190", r'line 1 +must hold three finite numbers, got "1e999"'),
        ("LBJ,0,5,735,5,190,5", r"got 7 cells\n +\(numbers with decimal commas need semicolons"),
        ("TRE,1,2,3\nLBJ|0|735|190", r"line 2 +must be name, x, y, z with commas, semicolons or"),
    ],
)
def test_a_row_that_names_no_place_says_why(tmp_path: Path, row: str, words: str) -> None:
    table = tmp_path / "points.csv"
    table.write_text(row)
    with pytest.raises(CaseFileError, match=words):
        points_from_table(table, "strut", "forward left up", "mm")


@pytest.mark.parametrize(
    ("option", "value"), [("--axes", "rearward,right,up"), ("--points-unit", "in")]
)
def test_what_is_said_of_a_table_asks_for_the_table(
    capsys: pytest.CaptureFixture[str], option: str, value: str
) -> None:
    assert main(["new", "strut", option, value]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert (
        captured.err
        == f"pivotwright: error: {option}: is of a table of points; say --points FILE too\n"
    )


@pytest.mark.parametrize("axes", ["", "forward,left", "forward,rearward,up", "x,y,z"])
def test_axes_must_name_one_direction_of_each_axis(axes: str) -> None:
    with pytest.raises(PivotwrightError, match="--axes must say where"):
        axes_of(axes)


def test_a_name_that_could_be_two_points_is_not_guessed() -> None:
    names = list(StrutPoints.model_fields)
    assert recognized("tie rod", names) is None
    assert recognized("lower arm", names) is None
    assert recognized("Tie-rod (outer) LH", names) == "tie_rod_outer"


def test_new_prints_a_case_from_a_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = written(tmp_path / "points.csv", "rearward,right,up")
    assert main(["new", "strut", "--points", str(table), "--axes", "rearward,right,up"]) == 0
    captured = capsys.readouterr()
    rest = "the rest of the {} is still the invented car's: overwrite it"
    assert rest.format("case") in captured.err
    assert rest.format("file") in captured.out.replace("\n# ", " ")
    case = case_from_toml(captured.out, "case")
    assert case.points.tie_rod_outer == pytest.approx(ISO["tie_rod_outer"], abs=LENGTH_ATOL_MM)


def test_a_heading_of_directions_says_where_the_axes_point(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = written(tmp_path / "points.csv", "rearward,right,up")
    name, *_, rows = table.read_text(encoding="utf-8").partition("\n")
    table.write_text(f"{name.split(',')[0]},rearward,right,up\n{rows}", encoding="utf-8")
    assert main(["new", "strut", "--points", str(table)]) == 0
    case = case_from_toml(capsys.readouterr().out, "case")
    assert case.points.tie_rod_outer == pytest.approx(ISO["tie_rod_outer"], abs=LENGTH_ATOL_MM)
    assert main(["new", "strut", "--points", str(table), "--axes", "forward,left,up"]) == 2
    assert (
        'must point as --axes says, forward,left,up, got "rearward,right,up"'
        in capsys.readouterr().err
    )


def test_new_names_a_table_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "strut", "--points", "nowhere.csv"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "nowhere.csv does not exist" in captured.err


def test_a_table_may_come_through_a_pipe_that_is_read_once(tmp_path: Path) -> None:
    table = written(tmp_path / "points.csv", "forward,left,up")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = Thread(target=lambda: pipe.write_bytes(table.read_bytes()), daemon=True)
    writer.start()
    text = case_from_table(pipe, "strut", None, "mm")
    assert text.replace("pipe", "points.csv") == case_from_table(table, "strut", None, "mm")
