"""Reports of the demo cars against tests/golden, and the numbers and sketches they are made of.

The golden files have no source outside this project: they say that a report reads as it did when a
person last read it, not that its numbers are right.
"""

import re
from functools import cache
from pathlib import Path

import pytest

from optimizer.answers.curve import curve
from optimizer.answers.plausibility import check
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import read_case
from optimizer.models.result import Subject, SuggestResult
from optimizer.options.study.search import StudyPlan
from optimizer.reports.numbers import Reader
from optimizer.reports.sketch import AFTER, AXIS, BEFORE, BOTH, HALF_WIDTH, sketch
from optimizer.reports.terminal import WIDTH, check_report, curve_report, suggest_report


@pytest.fixture(autouse=True)
def _output_is_no_terminal(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)


# --- golden reports


@cache
def answer_for(car: Path) -> SuggestResult:
    # Two trials are the car as it is and the fitted pivot: nothing that a sampler draws.
    return suggest(read_case(car), SuggestPlan(StudyPlan(trials=2)))


def test_suggest_reads_as_it_did(demo_car, same_as_golden):
    report = suggest_report(answer_for(demo_car), f"cases/{demo_car.name}")
    report = re.sub(r"[\d,]+ solved exactly", "N solved exactly", report)  # a matter of speed alone
    same_as_golden(f"{demo_car.stem}.suggest.txt", report)


def test_curve_reads_as_it_did(demo_car, same_as_golden):
    same_as_golden(f"{demo_car.stem}.curve.txt", curve_report(curve(read_case(demo_car))))


def test_check_reads_as_it_did(demo_car, same_as_golden):
    report = check_report(check(read_case(demo_car)), f"cases/{demo_car.name}")
    same_as_golden(f"{demo_car.stem}.check.txt", report)


def test_no_report_is_wider_than_it_says_or_ends_a_line_with_blanks(demo_car):
    case = read_case(demo_car)
    for report in (
        suggest_report(answer_for(demo_car), demo_car.name),
        curve_report(curve(case)),
        check_report(check(case), demo_car.name),
    ):
        lines = report.splitlines()
        assert max(len(line) for line in lines) <= WIDTH
        assert lines == [line.rstrip() for line in lines]
        assert "nan" not in report.lower().split()


def test_styling_in_a_name_is_printed_as_typed(demo_car):
    case = read_case(demo_car).model_copy(update={"name": "[bold]Größe[/bold] :smile:"})
    assert "[bold]Größe[/bold] :smile:" in check_report(check(case), "case.toml")
    assert "[bold]Größe[/bold] :smile:" in curve_report(curve(case))


# --- numbers


def reader(units: str = "mm", toe_unit: str = "deg", diameter: float = 600.0) -> Reader:
    return Reader(
        Subject(
            name="car",
            layout="strut",
            side="left",
            units=units,
            toe_unit=toe_unit,
            toe_diameter_mm=diameter,
        )
    )


@pytest.mark.parametrize(
    ("units", "length", "signed", "text"),
    [
        ("mm", 12.34, False, "12.3"),
        ("mm", 12.34, True, "+12.3"),
        ("mm", -12.36, True, "-12.4"),
        ("mm", 0.04, True, "0.0"),
        ("mm", -0.04, True, "0.0"),
        ("mm", -0.04, False, "0.0"),
        ("mm", 0.0, True, "0.0"),
        ("in", 25.4, False, "1.000"),
        ("in", -3.175, True, "-0.125"),
        ("in", 0.0001, True, "0.000"),
    ],
)
def test_a_length_is_written_in_the_owner_s_unit_with_a_plain_zero(units, length, signed, text):
    assert reader(units).length(length, signed=signed) == text


@pytest.mark.parametrize(
    ("units", "length", "text"),
    [
        ("mm", 12.0, "12.0 mm"),
        ("mm", 5.25, "5.25 mm"),
        ("mm", 3.175, "3.175 mm"),  # an eighth of an inch
        ("in", 3.175, "0.125 in"),
        ("in", 0.79375, "0.03125 in"),  # a thirty-second
    ],
)
def test_no_digit_of_what_is_to_be_fitted_is_rounded_away(units, length, text):
    assert reader(units).fitted(length) == text


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("deg", "+0.100"),
        ("min", "+6.0"),  # 60 minutes of arc to the degree
        ("mm", "+1.05"),  # 600 mm x sin(0.1 deg) = 1.0472 mm
        ("in", "+0.041"),  # 1.0472 mm / 25.4
    ],
)
def test_a_toe_angle_is_written_in_the_owner_s_unit(unit, text):
    assert reader(toe_unit=unit).toe(0.1) == text
    assert reader(toe_unit=unit).toe(-0.1) == text.replace("+", "-")
    assert reader(toe_unit=unit).toe_with_unit(0.1) == f"{text.removeprefix('+')} {unit}"


@pytest.mark.parametrize("unit", ["deg", "min", "mm", "in"])
def test_a_toe_angle_too_small_to_write_is_a_plain_zero(unit):
    assert float(reader(toe_unit=unit).toe(-1e-6)) == 0.0
    assert reader(toe_unit=unit).toe(-1e-6)[0] == "0"


def test_a_toe_distance_never_goes_without_its_diameter():
    assert reader(toe_unit="mm").toe_unit == "mm at 600 mm"
    assert reader(toe_unit="in", diameter=609.6).toe_unit == "in at 24 in"
    assert reader(toe_unit="min").toe_unit == "min"


def test_a_slope_is_per_ten_millimeters_or_per_inch():
    assert (reader("mm").slope(0.1), reader("mm").per) == ("+0.100", "10 mm")
    assert (reader("in").slope(0.1), reader("in").per) == ("+0.254", "inch")


def test_the_pieces_of_a_stack_are_counted_as_they_are_picked():
    assert reader("mm").pieces([5.0, 5.0, 1.0, 0.5]) == "2 x 5 + 1 x 1 + 1 x 0.5"
    assert reader("in").pieces([6.35, 0.79375, 0.79375]) == "1 x 0.25 + 2 x 0.03125"
    assert reader("mm").pieces([]) == ""


# --- sketch

LABELS = ["-10", "0", "+10"]


def places(line: str, label_width: int = 3) -> dict[str, int]:
    """Columns from the axis of the marks in a sketched line."""
    drawing = line[label_width + 2 :]
    return {mark: drawing.index(mark) - HALF_WIDTH for mark in drawing if mark != " "}


def test_a_sketch_has_bump_on_top_and_toe_in_on_the_right():
    high, ride, low = sketch(LABELS, [-0.2, 0.0, 0.4], None)
    assert high.startswith("+10")
    assert low.startswith("-10")
    assert places(high) == {AXIS: 0, BEFORE: HALF_WIDTH}
    assert places(ride) == {BEFORE: 0}
    assert places(low) == {AXIS: 0, BEFORE: -HALF_WIDTH // 2}


def test_the_larger_of_both_curves_fills_the_width_whichever_it_is():
    high, _, _ = sketch(LABELS, [0.0, 0.0, 0.1], [0.0, 0.0, -0.4])
    assert places(high) == {AFTER: -HALF_WIDTH, AXIS: 0, BEFORE: HALF_WIDTH // 4}
    high, _, _ = sketch(LABELS, [0.0, 0.0, 0.4], [0.0, 0.0, -0.1])
    assert places(high) == {AFTER: -HALF_WIDTH // 4, AXIS: 0, BEFORE: HALF_WIDTH}


def test_two_curves_that_meet_share_one_mark():
    for line in sketch(LABELS, [0.1, 0.0, 0.1], [0.1, 0.0, 0.1]):
        assert BOTH in line
        assert BEFORE not in line
        assert AFTER not in line


def test_all_lines_of_a_sketch_are_equally_long_and_labels_stand_to_the_right():
    lines = sketch(["-100.0", "0.0", "+5.0"], [0.1, 0.0, -0.1], [0.0, 0.0, 0.0])
    assert len({len(line) for line in lines}) == 1
    assert [line[:6] for line in lines] == ["  +5.0", "   0.0", "-100.0"]


def test_a_wheel_that_keeps_its_toe_is_drawn_on_the_axis():
    for line in sketch(LABELS, [0.0, 0.0, 0.0], None):
        assert places(line) == {BEFORE: 0}
