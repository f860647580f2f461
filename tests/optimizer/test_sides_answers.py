"""Both wheels' answers: a mirror car twice the one-wheel answer, and one rack for both."""

import re

import numpy as np
import pytest

from optimizer.answers.curve import curve
from optimizer.answers.reach import reach
from optimizer.answers.sides.check import check_both
from optimizer.answers.sides.curve import curve_both
from optimizer.answers.sides.reach import reach_both
from optimizer.answers.sides.suggest import suggest_both
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.models.curve import CurveRequest
from optimizer.models.together import PairRequest
from optimizer.options.study.search import StudyPlan
from optimizer.reports.terminal_pair import suggest_both_report

from .case_texts import edited
from .search.exhaustive import RESOLUTION_DEG, Exhaustive
from .two_sided_cars import (
    ANGLE_ATOL_DEG,
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

PLAN = SuggestPlan(StudyPlan(trials=2))
# A shifted car rounds its coordinates otherwise than its mirror image does.
SCORE_ATOL = 1e-6


# --- suggest


def test_a_mirror_car_gets_the_one_wheel_answer_on_both_wheels():
    # What every table says of places and directions is mirrored: gaps, tilts and room agree too.
    answer = suggest_both(car_of(MIRRORED_TEXT), PLAN)
    alone = suggest(one_wheel(MIRRORED_TEXT, "left"), PLAN)
    best = answer.together.certificate.best_peak_toe_change_deg
    assert best == pytest.approx(alone.certificate.best_peak_toe_change_deg, abs=SCORE_ATOL)
    left, right = (
        dict(
            numbers(
                [row.model_dump(exclude={"tightest_joint", "tightest_gap"}) for row in one.ranked]
            )
        )
        for one in (answer, answer.right)
    )
    assert left.keys() == right.keys()
    assert [left[path] for path in left] == pytest.approx(
        [right[path] for path in left], abs=SCORE_ATOL
    )
    total = np.array(answer.together.total_toe.total_as_is_deg)
    assert total == pytest.approx(2.0 * np.array(answer.curves.as_is_deg), abs=SCORE_ATOL)
    assert answer.together.total_toe.difference_best_deg == pytest.approx(
        0.0 * total, abs=SCORE_ATOL
    )
    assert answer.together.alike


def test_both_wheels_get_one_rack_height_and_what_the_best_pair_says():
    answer = suggest_both(car_of(DEMO_TEXT), PLAN)
    first = answer.together.ranked[0]
    for wheel, setting in ((answer, first.left), (answer.right, first.right)):
        assert wheel.ranked[0].outer_drop_mm == setting.outer_drop_mm
        assert wheel.ranked[0].stack_mm == setting.stack_mm
        raises = {row.rack_raise_mm for row in wheel.ranked if not row.is_as_is}
        assert raises == {first.rack_raise_mm}
    assert first.left.outer_drop_mm != first.right.outer_drop_mm


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
    answer = suggest_both(car_of(text), PLAN).together
    best = best_pair(text, spacers=SPACERS)
    found = answer.certificate.best_peak_toe_change_deg
    assert found == pytest.approx(min(best.values()), abs=SCORE_ATOL)
    fits = {row.rack_raise_mm: row for row in answer.ranked if row.fits and not row.is_as_is}
    for raise_, row in fits.items():
        assert best[raise_] - SCORE_ATOL <= row.peak_toe_change_deg <= best[raise_] + RESOLUTION_DEG
    assert answer.ranked[0].peak_toe_change_deg <= found + RESOLUTION_DEG
    assert answer.certificate.pairs == 3 * 30 * 30


def test_turn_toe_out_is_that_of_the_two_wheels_with_the_rack_where_it_is():
    car = car_of(DEMO_TEXT)
    answer = suggest_both(car, PLAN)
    (home,) = np.flatnonzero(np.array(curve_both(car).travel_mm) == 0.0)

    def steered(rack_travel):
        moved_, straight = (
            curve_both(car, PairRequest(rack_travel=at)) for at in (rack_travel, 0.0)
        )
        wheels = ((moved_, straight), (moved_.right, straight.right))
        return [now.toe_deg[home] - then.toe_deg[home] for now, then in wheels]

    for turn, mirrored_turn in zip(
        answer.side_effects.turn_toe_out, answer.right.side_effects.turn_toe_out, strict=True
    ):
        for toward in (turn.rack_travel_mm, -turn.rack_travel_mm):
            left, right = steered(toward)
            told = turn.before if left < 0.0 else mirrored_turn.before
            assert told.inner_deg == pytest.approx(-min(left, right), abs=ANGLE_ATOL_DEG)
            assert told.outer_deg == pytest.approx(max(left, right), abs=ANGLE_ATOL_DEG)
            assert told.toe_out_deg == pytest.approx(-left - right, abs=ANGLE_ATOL_DEG)


def test_a_rack_height_that_suits_one_wheel_alone_is_not_taken():
    answer = suggest_both(car_of(DEMO_TEXT), PLAN)
    car = car_of(DEMO_TEXT)
    alone = [suggest(case, PLAN).ranked[0] for case in car.wheels]
    together = answer.together.certificate.best_peak_toe_change_deg
    assert together >= max(row.peak_toe_change_deg for row in alone) - RESOLUTION_DEG
    # A left wheel that is right as it stands still goes along with the rack of the other one.
    text = moved(DEMO_TEXT, "left", "tie_rod_outer", (0.0, 0.0, -11.0))
    text = text.replace("spacers = [0.0, 2.0, 4.0]", "spacers = [4.0]")
    pinned = suggest_both(car_of(text), PLAN)
    assert pinned.together.ranked[0].rack_raise_mm == pinned.ranked[0].rack_raise_mm
    assert pinned.ranked[0].rack_raise_mm == pinned.right.ranked[0].rack_raise_mm == 4.0
    assert pinned.as_is.peak_toe_change_deg < pinned.ranked[0].peak_toe_change_deg


def test_leaving_both_wheels_is_always_ranked_and_first_where_no_pair_is_better():
    answer = suggest_both(car_of(DEMO_TEXT), PLAN).together
    (kept,) = [row for row in answer.ranked if row.is_as_is]
    assert (kept.left.outer_drop_mm, kept.right.outer_drop_mm, kept.rack_raise_mm) == (0, 0, 0)
    assert not kept.leading
    nothing = DEMO_TEXT.replace("max = 16.0", "max = 0.4").replace("[0.0, 2.0, 4.0]", "[0.0]")
    (only,) = suggest_both(car_of(nothing), PLAN).together.ranked
    assert only.is_as_is


def test_each_wheel_builds_from_its_own_shelf_and_has_its_own_limits():
    own = "\n[right.shelf]\nshims = [{ thickness = 3.0, count = 2 }]\n"
    answer = suggest_both(car_of(DEMO_TEXT + own), PLAN)
    assert all(piece == 3.0 for row in answer.right.ranked for piece in row.stack_mm)
    assert any(piece != 3.0 for row in answer.ranked for piece in row.stack_mm)
    names = [
        {row.tightest_gap.name for row in one.ranked if row.tightest_gap}
        for one in (answer, answer.right)
    ]
    car = car_of(DEMO_TEXT)
    assert [len(case.obstacles) for case in car.wheels] == [1, 2]
    assert all("exhaust" not in name for name in names[0])


def test_nothing_fits_where_one_wheel_fits_nothing():
    text = (
        DEMO_TEXT + "\n[[right.obstacles]]\nkind = 'disc'\nname = 'in the way'\ndiameter = 500.0\n"
    )
    text += "inboard = -120.0\noutboard = 10.0\n"
    answer = suggest_both(car_of(text), PLAN)
    assert not any(row.fits for row in answer.together.ranked)
    assert answer.together.certificate.best_peak_toe_change_deg is None
    assert answer.together.total_toe.total_best_deg is None
    assert all(row.reasons for row in answer.together.ranked)
    assert all(reason.startswith("right wheel: ") for reason in answer.together.ranked[0].reasons)


def test_a_custom_pivot_is_sought_for_each_wheel_with_the_rack_where_both_have_it():
    room = "\n[custom_pivot]\nouter = { x = [-5.0, 5.0], y = [-8.0, 4.0], z = [-20.0, 5.0] }\n"
    car = car_of(DEMO_TEXT + room)
    assert car.left.custom_pivot.outer.y == (-8.0, 4.0)
    assert car.right.custom_pivot.outer.y == (-4.0, 8.0)
    answer = suggest_both(car, SuggestPlan(StudyPlan(trials=4), custom=True))
    raise_ = answer.together.ranked[0].rack_raise_mm
    for wheel in (answer, answer.right):
        assert wheel.custom.rack_raise_mm == raise_
        assert wheel.custom.peak_toe_change_deg < wheel.ranked[0].peak_toe_change_deg


def test_on_a_rear_axle_each_wheel_has_its_inner_bracket_to_itself():
    rear = mirror_car_text((ROOT / "cases" / "five-link-rear.toml").read_text(encoding="utf-8"))
    text = with_tape(moved(rear, "right", "tie_rod_inner", (0.0, 0.0, 3.0)), 0.3)
    answer = suggest_both(car_of(text), PLAN)
    first = answer.together.ranked[0]
    assert first.rack_raise_mm is None
    alone = [suggest(case, PLAN) for case in car_of(text).wheels]
    for wheel, setting, best in zip(
        (answer, answer.right), (first.left, first.right), alone, strict=True
    ):
        assert wheel.ranked == best.ranked
        assert setting.rack_raise_mm == best.ranked[0].rack_raise_mm
    report = suggest_both_report(answer, "rear.toml")
    assert re.search(r"\brack\b", report) is None
    assert "The subframe is not level" in report


def test_where_the_rack_would_have_to_move_and_is_better_left_no_shim_is_to_be_bought():
    text = DEMO_TEXT.replace("[0.0, 2.0, 4.0]", "[20.0]")
    text = moved(text, "left", "tie_rod_outer", (0.0, 0.0, -9.0))
    text = moved(text, "right", "tie_rod_outer", (0.0, 0.0, -2.0))
    answer = suggest_both(car_of(text), PLAN)
    assert answer.together.ranked[0].is_as_is
    assert answer.next_shim is answer.right.next_shim is None


# --- check and reach


def test_check_finds_the_doubts_of_each_wheel_where_they_stand():
    text = moved(DEMO_TEXT, "right", "wheel_center", (0.0, 60.0, 0.0))
    answer = check_both(car_of(text))
    assert [doubt.location for doubt in answer.doubts] == []
    assert "right.points.wheel_center" in [doubt.location for doubt in answer.right.doubts]


def test_a_height_is_met_where_some_rack_height_suits_both_wheels():
    car, heights = car_of(LIMITED), [0.0, 20.0, 40.0]
    answer = reach_both(car, heights)
    assert dict(reach(car.left, heights)).items() <= dict(answer).items()
    assert answer.right == reach(car.right, heights)
    for height, row in zip(heights, answer.together.heights, strict=True):
        at = LIMITED.replace("lowered_by = 20.0", f"lowered_by = {height}")
        best = min(best_pair(at, spacers=SPACERS).values())
        found = np.inf if row.peak_toe_change_deg is None else row.peak_toe_change_deg
        assert found == pytest.approx(best, abs=SCORE_ATOL)
        assert row.reachable == (best <= car.left.aim.tolerance_deg)
        assert bool(row.reasons) == bool(row.stopped_by) == (not row.reachable)


def test_two_wheels_that_each_meet_a_height_may_still_not_share_a_rack():
    # Each wheel has one stack, and it suits that wheel at one rack height only.
    text = re.sub(r"\[shelf\](.+\n)+", "", DEMO_TEXT)
    for side, height in (("left", 8.0), ("right", 4.0)):
        text += (
            f"\n[{side}.outer_pivot]\nstack = {{ min = {height}, max = {height}, step = 1.0 }}\n"
        )
    (row,) = reach_both(car_of(text), [20.0]).together.heights
    assert (row.reachable, row.stopped_by) == (False, ["rack"])
    assert row.peak_toe_change_deg > 0.05


# --- alignment

ALIGNED = DEMO_TEXT + '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'


def test_an_alignment_is_set_on_each_wheel_and_the_pair_is_of_the_car_so_aligned():
    answer = suggest_both(car_of(ALIGNED), PLAN)
    first = answer.together.ranked[0]
    for case, wheel, setting in zip(
        car_of(ALIGNED).wheels, (answer, answer.right), (first.left, first.right), strict=True
    ):
        assert wheel.alignment.camber_deg == pytest.approx(-1.5, abs=SCORE_ATOL)
        stack = CurveRequest(outer_drop=setting.outer_drop_mm, rack_raise=first.rack_raise_mm)
        change = np.array(curve(case, stack).toe_deg) - case.ride.toe_deg
        assert np.abs(change).max() <= setting.peak_toe_change_deg + SCORE_ATOL
    report = suggest_both_report(answer, "aligned.toml")
    assert report.count("The wanted alignment") == 1
    assert "Left: " in report.partition("The wanted alignment")[2].partition("What the")[0]


def test_an_alignment_hides_no_difference_of_the_wheels():
    plain, aligned = (check_both(car_of(text)).together for text in (DEMO_TEXT, ALIGNED))
    assert aligned == plain


def test_the_alignment_is_set_anew_at_each_height_that_is_looked_at():
    heights = [0.0, 20.0]
    both = reach_both(car_of(ALIGNED), heights).together.heights
    for height, row in zip(heights, both, strict=True):
        at = ALIGNED.replace("lowered_by = 20.0", f"lowered_by = {height}")
        best = suggest_both(car_of(at), PLAN).together.certificate.best_peak_toe_change_deg
        assert row.peak_toe_change_deg == pytest.approx(best, abs=SCORE_ATOL)


# --- case files


def test_what_a_side_says_stands_before_what_both_share_and_is_not_mirrored():
    text = edited(MIRRORED_TEXT, {}, {}, "[right.outer_pivot]\nstud_axis = [0.0, 0.2, -1.0]")
    car = car_of(text)
    assert car.left.outer_pivot.stud_axis == (0.0, 0.1, -1.0)
    assert car.right.outer_pivot.stud_axis == (0.0, 0.2, -1.0)
    assert car.right.outer_pivot.stack == car.left.outer_pivot.stack
    assert car_of(MIRRORED_TEXT).right.outer_pivot.stud_axis == (0.0, -0.1, -1.0)


def test_there_is_one_rack_and_its_axis_is_not_mirrored():
    text = edited(MIRRORED_TEXT, {"steering.rack_axis": "[0.1, 1.0, 0.05]"}, {})
    car = car_of(text)
    assert car.left.steering.rack_axis == car.right.steering.rack_axis == (0.1, 1.0, 0.05)
