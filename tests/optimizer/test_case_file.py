"""Case files: what is read, what is refused, and how a refusal reads."""

import re
import subprocess
import sys
from typing import get_args

import pytest

from optimizer.errors import CaseFileError, Fault, PivotwrightError
from optimizer.files.case_file import case_from_toml, read_car, read_case
from optimizer.files.starters import starter_case
from optimizer.models.case import Case
from optimizer.models.limits import TiltLimit
from optimizer.models.obstacles import KINDS
from optimizer.models.points import Layout
from optimizer.models.vehicle import Vehicle

from .case_texts import GOOD_CASES, edited
from .command_line import run

LENGTH_ATOL_MM = 1e-9
JARGON = ["value error", "pydantic", "input", "validation", "traceback", "union", "_type", "tuple"]


def test_a_broken_case_is_refused_with_every_fault_and_no_other(broken_case):
    with pytest.raises(CaseFileError, match=re.escape(str(broken_case.path))) as refusal:
        read_case(broken_case.path)
    faults = refusal.value.faults
    assert [fault.location for fault in faults] == [place for place, _ in broken_case.faults]
    for fault, (_, words) in zip(faults, broken_case.faults, strict=True):
        for word in words.split("|"):
            assert word in fault.message


def test_a_refusal_speaks_no_programmer_s_jargon(broken_case):
    with pytest.raises(CaseFileError, match=r".") as refusal:
        read_case(broken_case.path)
    said = str(refusal.value).replace(str(broken_case.path), "").lower()
    assert [word for word in JARGON if word in said] == []


def test_a_good_case_is_read(good_case):
    car = read_car(good_case)
    assert isinstance(car, Vehicle)
    assert [case.side for case in car.wheels] in (["left"], ["right"], ["left", "right"])


def test_a_case_of_both_wheels_is_none_of_one(both_sides_text):
    with pytest.raises(CaseFileError, match="coupe measures both wheels"):
        case_from_toml(both_sides_text, "coupe")


def test_a_case_may_be_named_by_a_string():
    path = GOOD_CASES["strut"]
    assert read_case(str(path)) == read_case(path)


def test_a_byte_order_mark_is_no_fault(strut_text, tmp_path):
    path = tmp_path / "notepad.toml"
    path.write_text(strut_text, encoding="utf-8-sig")
    assert read_case(path) == case_from_toml(strut_text, "strut")


def test_windows_line_ends_are_no_fault(strut_text, tmp_path):
    path = tmp_path / "windows.toml"
    path.write_bytes(strut_text.replace("\n", "\r\n").encode())
    assert read_case(path) == case_from_toml(strut_text, "strut")


def test_a_case_may_come_through_a_pipe(strut_text):
    reader = (
        "from optimizer.files.case_file import read_case\n"
        "print(read_case('/dev/stdin').points.strut_top)"
    )
    told = subprocess.run(
        [sys.executable, "-c", reader], input=strut_text, capture_output=True, text=True, check=True
    )
    assert told.stdout == "(-38.1, 574.04, 830.58)\n"


def numbers_of(value, path=""):
    """All leaves of nested tables and lists, by path."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from numbers_of(item, f"{path}.{key}")
    elif isinstance(value, list | tuple):
        for place, item in enumerate(value):
            yield from numbers_of(item, f"{path}[{place}]")
    else:
        yield path, value


def test_a_case_in_inches_equals_its_millimeter_twin():
    inches, millimeters = (
        dict(numbers_of(read_case(GOOD_CASES[name]).model_dump()))
        for name in ("strut_inches", "strut")
    )
    differ = {
        path: (inches.get(path), value)
        for path, value in millimeters.items()
        if not isinstance(value, float) and inches.get(path) != value
    }
    assert differ == {".units": ("in", "mm")}
    lengths = {path: value for path, value in millimeters.items() if isinstance(value, float)}
    assert {path: inches[path] for path in lengths} == pytest.approx(
        lengths, rel=0.0, abs=LENGTH_ATOL_MM
    )
    assert len(lengths) > 80


def test_the_twins_state_every_key_that_there_is():
    case = read_case(GOOD_CASES["strut"])
    left_out = {path for path, value in numbers_of(case.model_dump()) if value is None}
    stud = {".stud.diameter", ".stud.grade", ".stud.thread.threads_per_inch"}
    other = {
        ".alignment",
        ".aim.also.roll_steer",  # has no length in it
        ".aim.band",  # the twins state a gain; a band in inches has a test of its own
        ".aim.toe_gain_minutes_per_10mm",  # so have a gain in minutes and one in inches per inch
        ".aim.toe_gain_in_per_in",
        ".aim.toe_gain_diameter",
        ".joint.retaining_washer",  # in inches: bench/test_retaining_washer.py
        ".lateral_link.number",
        ".shelf",
        ".joint.outer.tilt_limit_deg",
        ".thread.threads_per_inch",
    }
    rims = {f".obstacles[0].{key}" for key in ("barrel", "nominal_diameter")} | {
        f".obstacles[4].{key}" for key in ("inside_diameter", "outboard")
    }
    inner = {
        f".joint.inner.{size}"
        for size in TiltLimit.model_fields
        if size not in ("tilt_limit_deg", "bolt_axis")
    }
    assert left_out == stud | other | rims | inner


@pytest.mark.parametrize("accuracy", ["", "[accuracy]", "[accuracy.points]\nstrut_top = 0.4"])
def test_the_usual_accuracy_is_two_millimeters_in_a_file_in_inches_too(accuracy):
    text = GOOD_CASES["strut_inches"].read_text()
    text = re.sub(r"\[accuracy\.points\]\n.*\n.*\n", accuracy + "\n", text)
    assert case_from_toml(text, "twin").accuracy.of("wheel_center") == (2.0, 2.0, 2.0)


def test_faults_are_listed_as_typed_and_aligned():
    faults = [
        Fault("points.strut_top", "must be above lower_ball_joint\n(swapped?)"),
        Fault("shelf.shims[2].count", "must be 0 or more, got -2"),
    ]
    assert str(CaseFileError("cases/coupe.toml", faults)).splitlines() == [
        "cases/coupe.toml has 2 faults:",
        "  points.strut_top      must be above lower_ball_joint",
        "                        (swapped?)",
        "  shelf.shims[2].count  must be 0 or more, got -2",
    ]


def test_a_single_fault_is_not_called_faults(strut_text):
    text = edited(strut_text, {"aim.tolerance_deg": "0"}, {})
    with pytest.raises(CaseFileError, match=r"^coupe has 1 fault:\n  aim\.tolerance_deg  must be"):
        case_from_toml(text, "coupe")


def test_a_long_wrong_value_is_cut_short(strut_text):
    text = edited(strut_text, {"ride.bump": f'"{"long " * 1000}"'}, {})
    with pytest.raises(CaseFileError, match=r"got \"long .*\.\.\.$") as refusal:
        case_from_toml(text, "coupe")
    assert len(str(refusal.value)) < 200


@pytest.mark.parametrize("layout", get_args(Layout))
def test_a_starter_shows_every_table_and_stays_valid_with_all_options_taken(layout):
    text = re.sub(r"(?m)^#(?=[a-z\[])", "", starter_case(layout))
    case = case_from_toml(text, "starter")
    unset = {name for name in Case.model_fields if name not in case.model_fields_set}
    no_shelf = {"shelf"} if layout not in ("double-wishbone", "five-link") else set()
    of_an_arm = {"lower_ball_joint", "knuckle_plate", "crossmember"}
    no_ball_joint = set() if hasattr(case.points, "lower_ball_joint") else of_an_arm
    of_an_axle = {"lateral_link": "beam-axle", "leaf_spring": "leaf-axle"}
    no_axle = {name for name, its in of_an_axle.items() if its != layout}
    no_alignment = {"alignment"} if layout in ("five-link", *of_an_axle.values()) else set()
    assert unset == no_shelf | no_ball_joint | no_axle | no_alignment
    there = {"leaf-axle": "leaf-spring"}.get(
        layout, "suspension-links" if no_ball_joint else "lower-arm"
    )
    not_there = {"lower-arm", "suspension-links", "leaf-spring"} - {there}
    assert {part.kind for part in case.obstacles} == {*KINDS} - not_there


@pytest.mark.parametrize("layout", get_args(Layout))
def test_a_starter_with_all_options_taken_is_a_car_that_nothing_is_doubted_of(
    layout, tmp_path, capsys
):
    path = tmp_path / "starter.toml"
    path.write_text(re.sub(r"(?m)^#(?=[a-z\[])", "", starter_case(layout)), encoding="utf-8")
    assert run("check", path) == 0
    assert "Nothing looks wrong." in capsys.readouterr().out


@pytest.mark.parametrize("layout", get_args(Layout))
def test_a_starter_s_example_of_accuracy_by_point_names_points_of_its_layout(layout):
    text = re.sub(r"(?m)^#(?=[a-z\[])", "", starter_case(layout))
    example = re.search(r"Or by point: (points = .*)", text)
    text = re.sub(r"(?m)^points = .*", example[1] if example else r"\g<0>", text)
    assert case_from_toml(text, "starter").layout == layout


def test_a_starter_for_an_unknown_layout_is_refused():
    with pytest.raises(
        PivotwrightError,
        match="must be strut or double-wishbone or twin-link-strut or five-link or beam-axle or "
        "leaf-axle, got",
    ):
        starter_case("swing")
