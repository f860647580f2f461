"""Both wheels' curves: total toe, the difference, and a mirror car the one-wheel curve twice."""

import numpy as np
import pytest

from optimizer.answers.curve import curve
from optimizer.answers.sides.curve import curve_both
from optimizer.models.curve import CurveRequest
from optimizer.models.together import PairRequest

from .two_sided_cars import (
    ANGLE_ATOL_DEG,
    DEMO_TEXT,
    LENGTH_ATOL_MM,
    MIRRORED_TEXT,
    car_of,
    numbers,
    one_wheel,
    with_sides_changed_over,
)


def test_total_toe_is_the_sum_and_the_difference_left_less_right():
    answer = curve_both(car_of(DEMO_TEXT))
    left, right = np.array(answer.toe_deg), np.array(answer.right.toe_deg)
    assert answer.together.total_toe_deg == pytest.approx(left + right, abs=ANGLE_ATOL_DEG)
    assert answer.together.toe_difference_deg == pytest.approx(left - right, abs=ANGLE_ATOL_DEG)
    assert answer.travel_mm == answer.right.travel_mm == answer.together.right_travel_mm
    assert (answer.side, answer.right.side) == ("left", "right")


def test_each_wheel_of_the_pair_moves_as_it_does_alone():
    car = car_of(DEMO_TEXT)
    request = {"rack_raise": 2.0, "rack_travel": 20.0, "step": 15.0}
    answer = curve_both(car, PairRequest(outer_drop=3.0, right_outer_drop=1.0, **request))
    left = curve(car.left, CurveRequest(outer_drop=3.0, **request))
    right = curve(car.right, CurveRequest(outer_drop=1.0, **request))
    assert {key: getattr(answer, key) for key in dict(left)} == dict(left)
    assert answer.right == right


def test_the_right_stack_is_the_left_one_where_none_is_named():
    answer = curve_both(car_of(DEMO_TEXT), PairRequest(outer_drop=4.0))
    assert answer.right == curve(car_of(DEMO_TEXT).right, CurveRequest(outer_drop=4.0))


def test_in_roll_one_wheel_is_up_where_the_other_is_down():
    text = DEMO_TEXT.replace("droop      = 45.0", "droop      = 30.0")
    answer = curve_both(car_of(text), PairRequest(opposite=True))
    left = dict(zip(answer.travel_mm, answer.toe_deg, strict=True))
    right = dict(zip(answer.right.travel_mm, answer.right.toe_deg, strict=True))
    assert answer.together.right_travel_mm == [-height for height in answer.travel_mm]
    total = [left[height] + right[-height] for height in answer.travel_mm]
    assert answer.together.total_toe_deg == pytest.approx(total, abs=ANGLE_ATOL_DEG)


def test_a_height_out_of_one_wheel_s_reach_has_no_total():
    answer = curve_both(car_of(DEMO_TEXT), PairRequest(bump=400.0))
    lost = [
        a is None or b is None for a, b in zip(answer.toe_deg, answer.right.toe_deg, strict=True)
    ]
    assert any(lost)
    assert [total is None for total in answer.together.total_toe_deg] == lost
    assert [toe is None for toe in answer.together.toe_difference_deg] == lost


def test_the_wheels_are_compared_as_far_as_both_reach():
    text = DEMO_TEXT.replace("bump       = 45.0", "bump       = 390.0")
    answer = curve_both(car_of(text))
    reached = [x is not None for x in answer.together.toe_difference_deg]
    highest = max(np.array(answer.travel_mm)[reached])
    assert not all(reached)
    assert abs(answer.together.at_travel_mm) <= highest
    assert answer.together.peak_toe_difference_deg > 0.5
    assert answer.together.causes


@pytest.mark.parametrize("text", [MIRRORED_TEXT, DEMO_TEXT], ids=["mirror", "demo"])
def test_changing_the_sides_over_turns_the_difference_round(text):
    here, there = (curve_both(car_of(one)) for one in (text, with_sides_changed_over(text)))
    assert there.toe_deg == pytest.approx(here.right.toe_deg, abs=ANGLE_ATOL_DEG)
    assert there.right.toe_deg == pytest.approx(here.toe_deg, abs=ANGLE_ATOL_DEG)
    turned = -np.array(here.together.toe_difference_deg)
    assert there.together.toe_difference_deg == pytest.approx(turned, abs=ANGLE_ATOL_DEG)


def test_a_mirror_car_has_one_wheel_s_curve_twice_with_the_rack_to_either_side():
    car, alone = car_of(MIRRORED_TEXT), one_wheel(MIRRORED_TEXT, "left")
    to_left = curve_both(car, PairRequest(rack_travel=25.0))
    for found, rack in ((to_left, 25.0), (to_left.right, -25.0)):
        wanted = curve(alone, CurveRequest(rack_travel=rack))
        for (path, number), (_, same) in zip(
            numbers(found.model_dump(), without=("subject", "side", "right", "together")),
            numbers(wanted.model_dump()),
            strict=True,
        ):
            assert number == pytest.approx(same, abs=LENGTH_ATOL_MM), path
