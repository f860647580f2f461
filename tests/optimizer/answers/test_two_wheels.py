"""Both wheels' answers: a mirror car twice the one-wheel answer, and one rack for both."""

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.study.run import StudyPlan
from tests.optimizer.case_texts import edited
from tests.optimizer.one_wheel import curve_of
from tests.optimizer.options.exhaustive import RESOLUTION_DEG, Exhaustive
from tests.optimizer.two_sided_cars import (
    DEMO_TEXT,
    MIRRORED_TEXT,
    ROOT,
    car_of,
    mirror_car_text,
    moved,
    numbers,
    one_wheel,
    with_tape,
)

# A shifted car rounds its coordinates otherwise than its mirror image does.
SCORE_ATOL = 1e-6


def answer_of(vehicle: Vehicle, *, custom: bool = False) -> SuggestResult:
    return suggest(vehicle, plan=SuggestPlan(StudyPlan(trials=2), custom=custom))


def answer_alone(case: Case) -> SuggestResult:
    return answer_of(Vehicle((case,)))


# --- suggest


def test_a_mirror_car_gets_the_one_wheel_answer_on_both_wheels():
    # What every table says of places and directions is mirrored: gaps, tilts and room agree too.
    answer = answer_of(car_of(MIRRORED_TEXT))
    alone = answer_alone(one_wheel(MIRRORED_TEXT, "left"))
    best = answer.certificate.best_peak_toe_change_deg
    assert best == pytest.approx(alone.certificate.best_peak_toe_change_deg, abs=SCORE_ATOL)
    places = {"tightest_joint", "tightest_gap", "dead_centers"}
    for row in answer.ranked:
        left, right = (dict(numbers(one.model_dump(exclude=places))) for one in row.wheels)
        assert left.keys() == right.keys()
        assert [left[path] for path in left] == pytest.approx(
            [right[path] for path in left], abs=SCORE_ATOL
        )
    total = np.array(answer.total_toe.total_as_is_deg)
    left = np.array(answer.wheels[0].curves.as_is_deg)
    assert total == pytest.approx(2.0 * left, abs=SCORE_ATOL)
    assert answer.total_toe.difference_best_deg == pytest.approx(0.0 * total, abs=SCORE_ATOL)


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


def test_a_rack_height_that_suits_one_wheel_alone_is_not_taken():
    car = car_of(DEMO_TEXT)
    alone = [answer_alone(case).ranked[0] for case in car.wheels]
    together = answer_of(car).certificate.best_peak_toe_change_deg
    assert together >= max(row.peak_toe_change_deg for row in alone) - RESOLUTION_DEG
    # A left wheel that is right as it stands still goes along with the rack of the other one.
    text = moved(DEMO_TEXT, "left", "tie_rod_outer", (0.0, 0.0, -11.0))
    text = text.replace("spacers = [0.0, 2.0, 4.0]", "spacers = [4.0]")
    pinned = answer_of(car_of(text))
    first = pinned.ranked[0]
    assert [wheel.rack_raise_mm for wheel in first.wheels] == [4.0, 4.0]
    assert pinned.as_is.wheels[0].peak_toe_change_deg < first.wheels[0].peak_toe_change_deg


def test_leaving_both_wheels_is_always_ranked_and_first_where_no_pair_is_better():
    answer = answer_of(car_of(DEMO_TEXT))
    (kept,) = [row for row in answer.ranked if row.is_as_is]
    assert [wheel.outer_drop_mm for wheel in kept.wheels] == [0.0, 0.0]
    assert kept.rack_raise_mm == 0.0
    assert not kept.leading
    nothing = DEMO_TEXT.replace("max = 16.0", "max = 0.4").replace("[0.0, 2.0, 4.0]", "[0.0]")
    (only,) = answer_of(car_of(nothing)).ranked
    assert only.is_as_is


def test_each_wheel_builds_from_its_own_shelf_and_has_its_own_limits():
    own = "\n[right.shelf]\nshims = [{ thickness = 3.0, count = 2 }]\n"
    answer = answer_of(car_of(DEMO_TEXT + own))
    left, right = zip(*(row.wheels for row in answer.ranked), strict=True)
    assert all(piece == 3.0 for row in right for piece in row.stack_mm)
    assert any(piece != 3.0 for row in left for piece in row.stack_mm)
    names = {row.tightest_gap.name for row in left if row.tightest_gap}
    car = car_of(DEMO_TEXT)
    assert [len(case.obstacles) for case in car.wheels] == [1, 2]
    assert names
    assert all("exhaust" not in name for name in names)


def test_nothing_fits_where_one_wheel_fits_nothing():
    text = (
        DEMO_TEXT + "\n[[right.obstacles]]\nkind = 'disc'\nname = 'in the way'\ndiameter = 500.0\n"
    )
    text += "inboard = -120.0\noutboard = 10.0\n"
    answer = answer_of(car_of(text))
    assert not any(row.fits for row in answer.ranked)
    assert answer.certificate.best_peak_toe_change_deg is None
    assert answer.total_toe.total_best_deg is None
    assert all(row.reasons for row in answer.ranked)
    left, right = answer.ranked[0].wheels
    assert not left.reasons
    assert right.reasons


def test_a_custom_pivot_is_sought_for_each_wheel_with_the_rack_where_both_have_it():
    room = "\n[custom_pivot]\nouter = { x = [-5.0, 5.0], y = [-8.0, 4.0], z = [-20.0, 5.0] }\n"
    car = car_of(DEMO_TEXT + room)
    assert car.wheels[0].custom_pivot.outer.y == (-8.0, 4.0)
    assert car.wheels[1].custom_pivot.outer.y == (-4.0, 8.0)
    answer = answer_of(car, custom=True)
    assert len({wheel.rack_raise_mm for wheel in answer.custom.wheels}) == 1
    assert answer.custom.peak_toe_change_deg < answer.ranked[0].peak_toe_change_deg


def test_on_a_rear_axle_each_wheel_has_its_inner_bracket_to_itself():
    rear = mirror_car_text((ROOT / "cases" / "five-link-rear.toml").read_text(encoding="utf-8"))
    text = with_tape(moved(rear, "right", "tie_rod_inner", (0.0, 0.0, 3.0)), 0.3)
    first = answer_of(car_of(text)).ranked[0]
    assert first.rack_raise_mm is None
    alone = [answer_alone(case).ranked[0] for case in car_of(text).wheels]
    for setting, best in zip(first.wheels, alone, strict=True):
        assert setting.rack_raise_mm == best.rack_raise_mm
        assert setting.outer_drop_mm == best.wheels[0].outer_drop_mm


def test_where_the_rack_would_have_to_move_and_is_better_left_no_shim_is_to_be_bought():
    text = DEMO_TEXT.replace("[0.0, 2.0, 4.0]", "[20.0]")
    text = moved(text, "left", "tie_rod_outer", (0.0, 0.0, -9.0))
    text = moved(text, "right", "tie_rod_outer", (0.0, 0.0, -2.0))
    answer = answer_of(car_of(text))
    assert answer.ranked[0].is_as_is
    assert answer.next_shim is None


# --- alignment

ALIGNED = DEMO_TEXT + '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'


def test_an_alignment_is_set_on_each_wheel_and_the_pair_is_of_the_car_so_aligned():
    answer = answer_of(car_of(ALIGNED))
    first = answer.ranked[0]
    for case, wheel, setting in zip(
        car_of(ALIGNED).wheels, answer.wheels, first.wheels, strict=True
    ):
        assert wheel.alignment.camber_deg == pytest.approx(-1.5, abs=SCORE_ATOL)
        stack = CurveRequest(outer_drop=setting.outer_drop_mm, rack_raise=first.rack_raise_mm)
        change = np.array(curve_of(case, stack).toe_deg) - case.ride.toe_deg
        assert np.abs(change).max() <= setting.peak_toe_change_deg + SCORE_ATOL


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
