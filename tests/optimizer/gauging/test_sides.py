"""Left and right: mirror images or two cars, and what usually makes them differ."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.gauging.loop import gauge
from optimizer.models.sweeps import SideFinding
from optimizer.models.vehicle import Vehicle

from .sweeps import angles, as_swept, judged, kinds

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
    assert (answer.wheels[0].side, answer.sides.other) == ("right", "left")
    assert answer.wheels[0].measured.toe_slope_deg_per_10mm == pytest.approx(
        -0.1, abs=ANGLE_ATOL_DEG
    )


def findings(*sweeps):
    """What is found of both wheels beside each other."""
    return [x for x in judged(None, list(sweeps)).diagnosis if isinstance(x, SideFinding)]


def test_different_stacks_explain_different_slopes():
    found = findings(
        wheel("left", 0.0, outer_drop=4.0), wheel("right", -4.0 * PER_MM, outer_drop=0.0)
    )
    assert kinds(found) == ["alike"]


@pytest.mark.parametrize(
    ("left", "right", "cause"),
    [
        ({"slope": 0.006}, {"slope": -0.006}, "slopes"),
        ({"square": 1e-4}, {"square": -1e-4}, "curvatures"),
    ],
)
def test_slopes_blame_heights_and_curvatures_blame_lengths(left, right, cause):
    found = findings(wheel("left", **left), wheel("right", **right))
    assert kinds(found) == ["differ", cause]  # no stacks to change over


def test_stacks_that_explain_nothing_are_not_called_changed_over():
    slope = 7.5 * PER_MM
    found = findings(wheel("left", slope, outer_drop=1.0), wheel("right", 0.0, outer_drop=0.0))
    assert kinds(found) == ["differ", "slopes"]
    assert found[1].height_mm == pytest.approx(6.5, abs=0.05)  # the stacks explain 1 mm


def test_a_mirror_image_with_another_stack_helps_to_correct_the_points(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    car = Evaluator.of(case)
    left, right = as_swept(car, TRAVEL), as_swept(car, TRAVEL, 12.0, side="right")
    both, alone = gauge(Vehicle((case,)), [left, right]), judged(case, [left])
    assert both.sides.fitted_together
    assert both.wheels[0].next.peak_toe_change_95_deg < alone.next.peak_toe_change_95_deg


def test_wheels_that_differ_are_not_fitted_together(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    car = Evaluator.of(case)
    left = as_swept(car, TRAVEL)
    toe = {row[0]: row[1] + 0.004 * row[0] for row in as_swept(car, TRAVEL).readings}
    other = angles(toe, side="right", noise=0.005)
    both, alone = gauge(Vehicle((case,)), [left, other]), judged(case, [left])
    assert not both.sides.fitted_together
    assert both.wheels[0].fitted_points == alone.fitted_points
    assert both.wheels[0].next == alone.next
