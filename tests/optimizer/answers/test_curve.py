"""Both wheels' curves: total toe, the difference, and a mirror car the one-wheel curve twice."""

import numpy as np
import pytest

from optimizer.answers.curve import curve
from optimizer.models.curve import CurveRequest
from optimizer.models.vehicle import Vehicle
from tests.optimizer.one_wheel import curve_of
from tests.optimizer.two_sided_cars import (
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
    answer = curve(car_of(DEMO_TEXT))
    left, right = (np.array(wheel.toe_deg) for wheel in answer.wheels)
    assert answer.together.total_toe_deg == pytest.approx(left + right, abs=ANGLE_ATOL_DEG)
    assert answer.together.toe_difference_deg == pytest.approx(left - right, abs=ANGLE_ATOL_DEG)
    travels = {tuple(wheel.travel_mm) for wheel in answer.wheels}
    assert travels == {tuple(answer.together.right_travel_mm)}
    assert [wheel.side for wheel in answer.wheels] == answer.subject.sides == ["left", "right"]


def test_each_wheel_of_the_pair_moves_as_it_does_alone():
    car = car_of(DEMO_TEXT)
    request = {"rack_raise": 2.0, "rack_travel": 20.0, "step": 15.0}
    answer = curve(car, CurveRequest(outer_drop=3.0, right_outer_drop=1.0, **request))
    for case, wheel, drop in zip(car.wheels, answer.wheels, (3.0, 1.0), strict=True):
        assert wheel == curve_of(case, CurveRequest(outer_drop=drop, **request))


def test_the_right_stack_is_the_left_one_where_none_is_named():
    answer = curve(car_of(DEMO_TEXT), CurveRequest(outer_drop=4.0))
    right = car_of(DEMO_TEXT).wheels[1]
    assert answer.wheels[1] == curve_of(right, CurveRequest(outer_drop=4.0))


def test_one_wheel_alone_has_nothing_to_be_compared_with():
    answer = curve(Vehicle((car_of(DEMO_TEXT).wheels[1],)))
    assert answer.subject.sides == ["right"]
    assert (answer.together, answer.comparison) == (None, None)


def test_in_roll_one_wheel_is_up_where_the_other_is_down():
    text = DEMO_TEXT.replace("droop      = 45.0", "droop      = 30.0")
    answer = curve(car_of(text), CurveRequest(opposite=True))
    left, right = (dict(zip(one.travel_mm, one.toe_deg, strict=True)) for one in answer.wheels)
    travel = answer.wheels[0].travel_mm
    assert answer.together.right_travel_mm == [-height for height in travel]
    total = [left[height] + right[-height] for height in travel]
    assert answer.together.total_toe_deg == pytest.approx(total, abs=ANGLE_ATOL_DEG)


def test_a_height_out_of_one_wheel_s_reach_has_no_total():
    answer = curve(car_of(DEMO_TEXT), CurveRequest(bump=400.0))
    toes = zip(*(wheel.toe_deg for wheel in answer.wheels), strict=True)
    lost = [a is None or b is None for a, b in toes]
    assert any(lost)
    assert [total is None for total in answer.together.total_toe_deg] == lost
    assert [toe is None for toe in answer.together.toe_difference_deg] == lost


def test_the_wheels_are_compared_as_far_as_both_reach():
    text = DEMO_TEXT.replace("bump       = 45.0", "bump       = 390.0")
    answer = curve(car_of(text))
    reached = [x is not None for x in answer.together.toe_difference_deg]
    highest = max(np.array(answer.wheels[0].travel_mm)[reached])
    assert not all(reached)
    assert abs(answer.comparison.at_travel_mm) <= highest
    assert answer.comparison.peak_toe_difference_deg > 0.5
    assert answer.comparison.causes


@pytest.mark.parametrize("text", [MIRRORED_TEXT, DEMO_TEXT], ids=["mirror", "demo"])
def test_changing_the_sides_over_turns_the_difference_round(text):
    here, there = (curve(car_of(one)) for one in (text, with_sides_changed_over(text)))
    for wheel, twin in zip(there.wheels, here.wheels[::-1], strict=True):
        assert wheel.toe_deg == pytest.approx(twin.toe_deg, abs=ANGLE_ATOL_DEG)
    turned = -np.array(here.together.toe_difference_deg)
    assert there.together.toe_difference_deg == pytest.approx(turned, abs=ANGLE_ATOL_DEG)


def test_a_mirror_car_has_one_wheel_s_curve_twice_with_the_rack_to_either_side():
    alone = one_wheel(MIRRORED_TEXT, "left")
    to_left = curve(car_of(MIRRORED_TEXT), CurveRequest(rack_travel=25.0))
    for found, rack in zip(to_left.wheels, (25.0, -25.0), strict=True):
        wanted = curve_of(alone, CurveRequest(rack_travel=rack))
        for (path, number), (_, same) in zip(
            numbers(found.model_dump()), numbers(wanted.model_dump()), strict=True
        ):
            assert number == pytest.approx(same, abs=LENGTH_ATOL_MM), path
