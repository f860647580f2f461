"""Ride heights of both wheels: one rack, one kit on both."""

import re

import numpy as np
import pytest

from optimizer.answers.reach import reach
from optimizer.car.alignment import aligned_case, alignment_of
from optimizer.car.ride_heights import case_at
from optimizer.models.case import Case
from optimizer.models.reach import NothingShared
from optimizer.models.vehicle import Vehicle
from optimizer.reports.terminal_reach import reach_report
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.answers.reached import (
    ANGLE_ATOL_DEG,
    HEIGHTS,
    SAME_ANGLE_ATOL_DEG,
    TRIED,
    free_of_limits,
    kit,
    reach_of,
    said,
    wheel_at,
)
from tests.optimizer.options.exhaustive import Exhaustive
from tests.optimizer.two_sided_cars import DEMO_TEXT, car_of, moved

# A shifted car rounds its coordinates otherwise than its mirror image does.
SCORE_ATOL = 1e-6
TIGHT_RIM = DEMO_TEXT.replace("inside_diameter = 368.0", "inside_diameter = 360.0")
ALIGNED = DEMO_TEXT + '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'


def best_by_rack(text: str) -> dict[float, float]:
    """Least peak of the worse wheel by rack raise, every setting of both tried one by one. [deg]"""
    every = [Exhaustive(case) for case in car_of(text).wheels]
    return {
        up: max(
            one.peak_deg[(one.space.settings.rack_raise == up) & one.fits].min(initial=np.inf)
            for one in every
        )
        for up in car_of(text).case.rack.spacers
    }


def two_stacks(left: float, right: float) -> Vehicle:
    """The demo car with one stack for each wheel."""
    text = re.sub(r"\[shelf\](.+\n)+", "", DEMO_TEXT)
    for side, height in (("left", left), ("right", right)):
        stack = f"{{ min = {height}, max = {height}, step = 1.0 }}"
        text += f"\n[{side}.outer_pivot]\nstack = {stack}\n"
    return car_of(text)


@pytest.mark.parametrize("height", [0.0, 20.0, 40.0])
def test_a_height_is_met_where_some_rack_height_suits_both_wheels(height):
    (row,) = reach(car_of(TIGHT_RIM), [height]).heights
    by_rack = best_by_rack(TIGHT_RIM.replace("lowered_by = 20.0", f"lowered_by = {height}"))
    best = min(by_rack.values())
    found = np.inf if row.peak_toe_change_deg is None else row.peak_toe_change_deg
    assert found == pytest.approx(best, abs=SCORE_ATOL)
    assert row.reachable == (best <= car_of(TIGHT_RIM).case.aim.tolerance_deg)
    assert bool(row.reasons) == bool(row.blocked_by) == (not row.reachable)
    if np.isfinite(best):
        assert by_rack[row.rack_raise_mm] == best
        assert {wheel.rack_raise_mm for wheel in row.wheels} == {row.rack_raise_mm}
        assert max(wheel.peak_toe_change_deg for wheel in row.wheels) == row.peak_toe_change_deg


def test_what_is_said_of_each_wheel_alone_is_what_it_is_told_alone():
    both = reach(car_of(TIGHT_RIM), HEIGHTS[::3], TRIED)
    stopped = set()
    for k, case in enumerate(car_of(TIGHT_RIM).wheels):
        alone = reach_of(case, HEIGHTS[::3], TRIED)
        for row, of_one in zip(both.heights, alone.heights, strict=True):
            wheel, (told,) = row.wheels[k], of_one.wheels
            assert (wheel.side, wheel.reachable, wheel.reasons) == (
                told.side,
                told.reachable,
                told.reasons,
            )
            assert wheel.alone_peak_deg == told.alone_peak_deg
            stopped |= {*wheel.blocked_by}
    assert {"stack", "gap"} <= stopped


def test_two_wheels_that_each_meet_a_height_may_still_not_share_a_rack():
    # Each wheel has one stack, and it suits that wheel at one rack height only.
    result = reach(two_stacks(8.0, 4.0), [20.0])
    (row,) = result.heights
    assert (row.reachable, row.blocked_by, row.reasons) == (False, ["shared"], [NothingShared()])
    assert [wheel.reachable for wheel in row.wheels] == [True, True]
    assert row.peak_toe_change_deg > 0.05
    report = " ".join(reach_report(result, "car.toml").split())
    assert "both wheels at once at none of these heights" in report
    assert f"20.0 {row.peak_toe_change_deg:.3f} (" in report
    assert ") rack" in report


def test_a_rear_axle_has_an_inner_bracket_of_its_own_at_each_wheel():
    front = two_stacks(8.0, 4.0)
    rear = [
        case.model_copy(update={"car": case.car.model_copy(update={"axle": "rear"})})
        for case in front.wheels
    ]
    (row,) = reach(Vehicle(tuple(rear)), [20.0]).heights
    assert row.reachable
    assert row.rack_raise_mm is None
    left, right = row.wheels
    assert left.rack_raise_mm != right.rack_raise_mm
    assert row.peak_toe_change_deg == max(left.alone_peak_deg, right.alone_peak_deg)


def test_a_kit_is_not_met_by_a_wheel_that_it_can_not_leave_as_it_is():
    cured = moved(DEMO_TEXT, "right", "tie_rod_outer", (0.0, 0.0, -4.0)).replace(
        "[0.0, 2.0, 4.0]", "[0.0]"
    )
    result = reach(car_of(cured), [20.0], [kit(10.0, 12.0)])
    (row,) = result.heights
    left, right = row.wheels
    assert (row.reachable, left.reachable, right.reachable) == (False, True, False)
    assert right.outer_drop_mm == 10.0
    assert [fact.side for fact in row.reasons] == ["right"]
    reader = Reader(result.subject)
    assert sentence(row.reasons[0], reader).startswith("right wheel: needs ")
    assert " right " in reach_report(result, "car.toml")


# --- an alignment


@pytest.mark.parametrize("kits", [(), TRIED[:2]], ids=["own", "kits"])
def test_the_alignment_of_each_wheel_is_set_anew_at_each_height(kits):
    heights = [0.0, 20.0]
    rows = reach(car_of(ALIGNED), heights, kits).heights
    assert len(rows) == 2 * (len(kits) or 1)
    for row in rows:
        cases = [case_at(case, row.lowered_by_mm) for case in car_of(ALIGNED).wheels]
        there = Vehicle(tuple(aligned_case(case) for case in cases))
        same = next(
            one for one in reach(there, [row.lowered_by_mm], kits).heights if one.kit == row.kit
        )
        bare = [wheel.model_copy(update={"alignment": None}) for wheel in row.wheels]
        assert row.model_copy(update={"wheels": bare}) == same
        for wheel, case in zip(row.wheels, cases, strict=True):
            assert wheel.camber_deg == pytest.approx(-1.5, rel=0.0, abs=ANGLE_ATOL_DEG)
            assert wheel.alignment == alignment_of(case)[1]


def test_the_map_says_what_to_move_on_each_wheel_at_each_height():
    report = " ".join(reach_report(reach(car_of(ALIGNED), [0.0, 20.0]), "car.toml").split())
    assert "The wanted alignment is set anew at each height: 0.0: Left: shim " in report
    assert "20.0: Right: shim " in report


def test_a_height_at_which_one_wheel_can_not_be_aligned_is_met_by_the_other_alone():
    text = ALIGNED.replace("-1.5", "-1.5\nmost = 6.0") + "[left.alignment]\nmost = 0.1\n"
    result = reach(car_of(text), [20.0])
    (row,) = result.heights
    left, right = row.wheels
    assert (row.reachable, row.peak_toe_change_deg, row.blocked_by) == (False, None, ["alignment"])
    assert (left.blocked_by, left.camber_deg) == (["alignment"], None)
    assert right.reachable
    assert right.alone_peak_deg is not None
    said_of_left = sentence(left.reasons[0], Reader(result.subject))
    assert said_of_left.startswith("left wheel: alignment.most must be enough for camber -1.5 deg")


def test_each_extension_is_aligned_for_itself_and_the_better_one_stands_in_the_row():
    case = car_of(ALIGNED).wheels[0]

    def extended(*drops: float) -> Case:
        joint = case.lower_ball_joint.model_copy(update={"drop": drops})
        return case.model_copy(update={"lower_ball_joint": joint})

    alone = {drop: reach_of(extended(drop), [20.0]).heights[0] for drop in (0.0, 15.0)}
    (row,) = reach_of(extended(0.0, 15.0), [20.0]).heights
    peaks = {drop: one.peak_toe_change_deg for drop, one in alone.items()}
    assert peaks[0.0] != pytest.approx(peaks[15.0], abs=SCORE_ATOL)
    best = min(peaks, key=lambda drop: peaks[drop])
    assert row.peak_toe_change_deg == pytest.approx(peaks[best], rel=0.0, abs=SAME_ANGLE_ATOL_DEG)
    assert row.ball_joint_drop_mm == best


@pytest.mark.parametrize("drops", [(0.0, 15.0), (15.0, 0.0)])
def test_a_needed_extension_is_named_where_it_is_not_what_the_car_has_now(drops):
    case = car_of(ALIGNED).wheels[0]
    joint = case.lower_ball_joint.model_copy(update={"drop": drops})
    case = free_of_limits(case).model_copy(update={"lower_ball_joint": joint})
    wheel = wheel_at(case, 20.0, kit(24.0, 25.0))
    # The kit starts too high for both extensions, and least so for the longer one.
    assert wheel.needed.ball_joint_drop_mm == 15.0
    assert wheel.needed.extended == (drops[0] == 0.0)
    named = "the lower ball joint 15.0 mm down" in said(wheel, case)[0]
    assert named == wheel.needed.extended
