"""Both wheels' answers: a mirror car twice the one-wheel answer, and one rack for both."""

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.study.run import StudyPlan
from tests.optimizer.case_texts import edited
from tests.optimizer.options.exhaustive import RESOLUTION_DEG, Exhaustive
from tests.optimizer.two_sided_cars import (
    DEMO_TEXT,
    MIRRORED_TEXT,
    car_of,
    moved,
)

# A shifted car rounds its coordinates otherwise than its mirror image does.
SCORE_ATOL = 1e-6


def answer_of(vehicle: Vehicle, *, custom: bool = False) -> SuggestResult:
    return suggest(vehicle, plan=SuggestPlan(StudyPlan(trials=2), custom=custom))


def test_both_wheels_get_one_rack_height_and_stacks_of_their_own():
    first = answer_of(car_of(DEMO_TEXT)).ranked[0]
    left, right = first.wheels
    assert left.rack_raise_mm == right.rack_raise_mm == first.rack_raise_mm
    assert left.outer_drop_mm != right.outer_drop_mm


def best_pair(text, *, spacers):
    """Least peak of the worse wheel by rack raise, every setting of both tried one by one. [deg]"""
    best = {}
    for raise_ in spacers:
        of_each = []
        for case in car_of(text).wheels:
            every = Exhaustive(case)
            here = (every.space.settings.rack_raise == raise_) & every.fits
            of_each.append(every.peak_deg[here].min(initial=np.inf))
        best[raise_] = max(of_each)
    return best


SPACERS = (0.0, 2.0, 4.0)
LIMITED = DEMO_TEXT.replace("inside_diameter = 368.0", "inside_diameter = 360.0")


@pytest.mark.parametrize("text", [DEMO_TEXT, LIMITED], ids=["demo", "tight rim"])
def test_the_proof_names_the_pair_that_trying_every_one_names(text):
    answer = answer_of(car_of(text))
    best = best_pair(text, spacers=SPACERS)
    found = answer.certificate.best_peak_toe_change_deg
    assert found == pytest.approx(min(best.values()), abs=SCORE_ATOL)
    fits = {row.rack_raise_mm: row for row in answer.ranked if row.fits and not row.is_as_is}
    for raise_, row in fits.items():
        assert best[raise_] - SCORE_ATOL <= row.peak_toe_change_deg <= best[raise_] + RESOLUTION_DEG
    assert answer.ranked[0].peak_toe_change_deg <= found + RESOLUTION_DEG
    assert answer.certificate.combinations == 3 * 30 * 30


def test_leaving_both_wheels_is_always_ranked_and_first_where_no_pair_is_better():
    answer = answer_of(car_of(DEMO_TEXT))
    (kept,) = [row for row in answer.ranked if row.is_as_is]
    assert [wheel.outer_drop_mm for wheel in kept.wheels] == [0.0, 0.0]
    assert kept.rack_raise_mm == 0.0
    assert not kept.leading
    nothing = DEMO_TEXT.replace("max = 16.0", "max = 0.4").replace("[0.0, 2.0, 4.0]", "[0.0]")
    (only,) = answer_of(car_of(nothing)).ranked
    assert only.is_as_is


def test_a_custom_pivot_is_sought_for_each_wheel_with_the_rack_where_both_have_it():
    room = "\n[custom_pivot]\nouter = { x = [-5.0, 5.0], y = [-8.0, 4.0], z = [-20.0, 5.0] }\n"
    car = car_of(DEMO_TEXT + room)
    assert car.wheels[0].custom_pivot.outer.y == (-8.0, 4.0)
    assert car.wheels[1].custom_pivot.outer.y == (-4.0, 8.0)
    answer = answer_of(car, custom=True)
    assert len({wheel.rack_raise_mm for wheel in answer.custom.wheels}) == 1
    assert answer.custom.peak_toe_change_deg < answer.ranked[0].peak_toe_change_deg


def test_where_the_rack_would_have_to_move_and_is_better_left_no_shim_is_to_be_bought():
    text = DEMO_TEXT.replace("[0.0, 2.0, 4.0]", "[20.0]")
    text = moved(text, "left", "tie_rod_outer", (0.0, 0.0, -9.0))
    text = moved(text, "right", "tie_rod_outer", (0.0, 0.0, -2.0))
    answer = answer_of(car_of(text))
    assert answer.ranked[0].is_as_is
    assert answer.next_shim is None


# --- case files


def test_what_a_side_says_stands_before_what_both_share_and_is_not_mirrored():
    text = edited(MIRRORED_TEXT, {}, {}, "[right.outer_pivot]\nstud_axis = [0.0, 0.2, -1.0]")
    car = car_of(text)
    assert car.wheels[0].outer_pivot.stud_axis == (0.0, 0.1, -1.0)
    assert car.wheels[1].outer_pivot.stud_axis == (0.0, 0.2, -1.0)
    assert car.wheels[1].outer_pivot.stack == car.wheels[0].outer_pivot.stack
    assert car_of(MIRRORED_TEXT).wheels[1].outer_pivot.stud_axis == (0.0, -0.1, -1.0)


def test_there_is_one_rack_and_its_axis_is_not_mirrored():
    text = edited(MIRRORED_TEXT, {"steering.rack_axis": "[0.1, 1.0, 0.05]"}, {})
    car = car_of(text)
    assert car.wheels[0].steering.rack_axis == car.wheels[1].steering.rack_axis == (0.1, 1.0, 0.05)
