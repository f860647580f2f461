"""What `curve` and `check` print, of one wheel and of two, against tests/golden.

The golden files have no source outside this project: they say that a report reads as it did when a
person last read it, not that its numbers are right.
"""

from collections.abc import Callable

import pytest

from optimizer.answers.check import check
from optimizer.answers.curve import curve
from optimizer.files.case_file import read_car
from optimizer.models.curve import CurveRequest
from optimizer.models.vehicle import Vehicle
from optimizer.reports.terminal_check import check_report
from optimizer.reports.terminal_curve import curve_report
from optimizer.reports.terminal_parts import WIDTH
from tests.optimizer.two_sided_cars import DEMO_TEXT, MIRRORED_TEXT, car_of

REPORTS: dict[str, Callable[[Vehicle, str], str]] = {
    "curve": lambda car, _: curve_report(curve(car)),
    "check": lambda car, path: check_report(check(car), path),
}


pytestmark = pytest.mark.usefixtures("no_terminal")


def words(text):
    return " ".join(text.split())


@pytest.mark.parametrize("name", REPORTS)
def test_a_report_reads_as_it_did(any_demo_car, same_as_golden, name):
    report = REPORTS[name](read_car(any_demo_car), f"cases/{any_demo_car.name}")
    lines = report.splitlines()
    assert max(len(line) for line in lines) <= WIDTH
    assert lines == [line.rstrip() for line in lines]
    assert "nan" not in report.lower().split()
    same_as_golden(f"{any_demo_car.stem}.{name}.txt", report)


@pytest.mark.parametrize("name", REPORTS)
def test_styling_in_a_name_is_printed_as_typed(any_demo_car, name):
    odd = {"name": "[bold]Größe[/bold] :smile:"}
    car = Vehicle(tuple(case.model_copy(update=odd) for case in read_car(any_demo_car).wheels))
    assert "[bold]Größe[/bold] :smile:" in REPORTS[name](car, "case.toml")


def test_alike_wheels_are_said_to_be_alike():
    out = words(check_report(check(car_of(MIRRORED_TEXT)), "case.toml"))
    assert "The wheels pass for mirror images" in out
    assert "Likely causes" not in out


def test_the_demo_car_is_told_its_three_faults():
    out = words(curve_report(curve(car_of(DEMO_TEXT))))
    for fault in ("shims fitted on the wrong sides", "off center by 4.0 mm", "not level"):
        assert fault in out


def test_in_roll_the_right_wheel_s_column_runs_against_its_own_travel():
    droop = DEMO_TEXT.replace("droop      = 45.0", "droop      = 30.0")
    result = curve(car_of(droop), CurveRequest(opposite=True))
    highest = next(
        line.split() for line in curve_report(result).splitlines() if line.split()[:1] == ["+45.0"]
    )
    left, right = result.wheels
    assert highest[1] == "-45.0"
    assert highest[2:4] == [f"{left.toe_deg[-1]:+.3f}", f"{right.toe_deg[0]:+.3f}"]


ALIGNED = DEMO_TEXT + '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'


@pytest.mark.parametrize("name", REPORTS)
def test_each_wheel_s_alignment_is_told_and_what_to_look_at_afterwards_once(name):
    out = words(REPORTS[name](car_of(ALIGNED), "case.toml"))
    assert out.count("The wanted alignment") == out.count("Afterwards look for room") == 1
    for side, move in (("Left", "0.4"), ("Right", "0.3")):
        assert f"{side}: Shim both inner pivots of the upper arm {move} mm inboard" in out


def test_a_doubt_that_both_wheels_share_is_told_once_and_one_of_a_single_wheel_names_it():
    out = words(check_report(check(car_of(ALIGNED)), "case.toml"))
    assert out.count("alignment.most: is not stated") == 1
    assert "(left wheel)" not in out
    alone = DEMO_TEXT + '\n[right.alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'
    out = words(check_report(check(car_of(alone)), "case.toml"))
    assert "alignment.most: is not stated" in out
    assert "can't be judged (right wheel)" in out
