"""Left and right: mirror images or two cars, and what usually makes them differ."""

import numpy as np
import pytest

from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.gauge.loop import gauge

from .sweeps import angles

ANGLE_ATOL_DEG = 1e-6
TRAVEL = np.arange(-40.0, 41.0, 10.0)
CAR = {"rod_length": 370.0, "steering_arm": 130.0, "arms": "behind"}
PER_MM = float(np.degrees(1.0 / (370.0 * 130.0)))  # slope of a millimeter of height [deg/mm]


def wheel(side, slope=0.0, square=0.0, **keys):
    toe = slope * TRAVEL + square * TRAVEL**2
    return angles(dict(zip(TRAVEL, toe, strict=True)), side=side, car=CAR, **keys)


def test_mean_and_half_difference_are_those_of_both_curves():
    sides = gauge(None, [wheel("left", -0.004), wheel("right", -0.008)]).sides
    assert sides.other == "right"
    assert sides.travel_mm == TRAVEL.tolist()
    mean, half = sides.mean_toe_change_deg, sides.half_difference_deg
    assert mean == pytest.approx((-0.006 * TRAVEL).tolist(), abs=ANGLE_ATOL_DEG)
    assert half == pytest.approx((0.002 * TRAVEL).tolist(), abs=ANGLE_ATOL_DEG)


def test_only_heights_that_both_were_swept_through_are_compared():
    short = angles(dict.fromkeys((-20.0, -10.0, 0.0, 10.0, 25.0), 0.0), side="right", car=CAR)
    sides = gauge(None, [wheel("left"), short]).sides
    assert sides.travel_mm == [-20.0, -10.0, 0.0, 10.0, 20.0, 25.0]


def test_one_wheel_alone_is_compared_with_nothing():
    assert gauge(None, [wheel("left"), wheel("left", -0.001)]).sides is None


def test_the_wheel_of_the_first_sweep_is_the_one_that_is_judged():
    answer = gauge(None, [wheel("right", -0.01), wheel("left", 0.0)])
    assert (answer.subject.side, answer.sides.other) == ("right", "left")
    assert answer.measured.toe_slope_deg_per_10mm == pytest.approx(-0.1, abs=ANGLE_ATOL_DEG)


def test_different_stacks_explain_different_slopes():
    told = gauge(
        None, [wheel("left", 0.0, outer_drop=4.0), wheel("right", -4.0 * PER_MM, outer_drop=0.0)]
    ).diagnosis
    assert any("The wheels pass for mirror images" in text for text in told)


@pytest.mark.parametrize(
    ("left", "right", "cause"),
    [
        ({"slope": 0.006}, {"slope": -0.006}, "a rack that is not level"),
        ({"square": 1e-4}, {"square": -1e-4}, "a rack that is not centered"),
    ],
)
def test_slopes_blame_heights_and_curvatures_blame_lengths(left, right, cause):
    told = " ".join(gauge(None, [wheel("left", **left), wheel("right", **right)]).diagnosis)
    assert cause in told
    assert ("a rack that is not level" in told) != ("a rack that is not centered" in told)
    assert "wrong sides?" not in told  # no stacks to change over


def test_stacks_that_explain_nothing_are_not_called_changed_over():
    slope = 7.5 * PER_MM
    right_way = wheel("left", slope, outer_drop=1.0), wheel("right", 0.0, outer_drop=0.0)
    told = " ".join(gauge(None, list(right_way)).diagnosis)
    assert "as 7.5 mm of height at one outer pivot would make" in told
    assert "wrong sides?" not in told


def sweep_of(evaluator, drop, **keys):
    toe = np.degrees(evaluator.toe(Settings.single(drop), TRAVEL)[0])
    return angles(dict(zip(TRAVEL, toe, strict=True)), outer_drop=drop, noise=0.005, **keys)


def test_a_mirror_image_with_another_stack_helps_to_correct_the_points(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    car = Evaluator.of(case)
    left, right = sweep_of(car, 0.0), sweep_of(car, 12.0, side="right")
    both, alone = gauge(case, [left, right]), gauge(case, [left])
    assert both.sides.fitted_together
    assert both.next.peak_toe_change_95_deg < alone.next.peak_toe_change_95_deg


def test_wheels_that_differ_are_not_fitted_together(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    car = Evaluator.of(case)
    left = sweep_of(car, 0.0)
    toe = {row[0]: row[1] + 0.004 * row[0] for row in sweep_of(car, 0.0).readings}
    other = angles(toe, side="right", noise=0.005)
    both, alone = gauge(case, [left, other]), gauge(case, [left])
    assert not both.sides.fitted_together
    assert both.fitted_points == alone.fitted_points
    assert both.next == alone.next
