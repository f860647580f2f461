"""Kits ranked for a car of which both wheels were measured: one kit on both, one rack."""

import re
from functools import cache

import numpy as np
import pytest

from optimizer.answers.kit_ranking import suggest_kits
from optimizer.answers.sides.kit_ranking import suggest_kits_for_both
from optimizer.answers.sides.reach import reach_both
from optimizer.answers.suggest import SuggestPlan
from optimizer.files.kits import Kits, read_kits
from optimizer.models.kits import Kit
from optimizer.models.together import SuggestOfBothSides
from optimizer.options.hardware import case_with_kit
from optimizer.options.study.search import StudyPlan
from optimizer.reports.terminal_pair import suggest_both_report

from .search.exhaustive import RESOLUTION_DEG, Exhaustive
from .two_sided_cars import DEMO_TEXT, MIRRORED_TEXT, ROOT, car_of, moved, one_wheel

PLAN = SuggestPlan(StudyPlan(trials=1))
DEMO_KITS = read_kits(ROOT / "cases" / "kits.toml")
# A shifted car rounds its coordinates otherwise than its mirror image does.
SCORE_ATOL = 1e-6


@cache
def ranking() -> SuggestOfBothSides:
    return suggest_kits_for_both(car_of(DEMO_TEXT), DEMO_KITS, PLAN)


def kit(name: str, **changes: object) -> Kit:
    stack = {"min": 0.0, "max": 16.0, "step": 0.5}
    return Kit.model_validate({"name": name, "seat": "tapered", "stack": stack} | changes)


def kits(*of: Kit) -> Kits:
    return Kits(of, "EUR", None)


def test_every_kit_is_ranked_once_and_so_is_leaving_the_car_as_it_is():
    rows = ranking().together.ranked
    assert {row.kit for row in rows} == {None, *(one.name for one in DEMO_KITS.kits)}
    assert [row.rank for row in rows] == list(range(1, len(DEMO_KITS.kits) + 2))
    assert [row.kit is None for row in rows] == [row.is_as_is for row in rows]
    assert [one.name for one in ranking().kits] == [one.name for one in DEMO_KITS.kits]


@pytest.mark.parametrize("name", ["Short tapered stud", "Washer set on the standard stud"])
def test_each_kit_stands_with_the_pair_that_trying_every_setting_of_it_names(name):
    (one,) = (one for one in DEMO_KITS.kits if one.name == name)
    every = [Exhaustive(case_with_kit(case, one)) for case in car_of(DEMO_TEXT).wheels]
    best = np.inf
    for raise_ in car_of(DEMO_TEXT).left.rack.spacers:
        here = [wheel.fits & (wheel.space.settings.rack_raise == raise_) for wheel in every]
        fitted = [
            kept & (np.arange(kept.size) != wheel.space.left)
            for kept, wheel in zip(here, every, strict=True)
        ]  # a wheel may go without a stack, but not both
        worse = min(
            max(
                wheel.peak_deg[rows].min(initial=np.inf)
                for wheel, rows in zip(every, pair, strict=True)
            )
            for pair in ((fitted[0], here[1]), (here[0], fitted[1]))
        )
        best = min(best, worse)
    (row,) = (row for row in ranking().together.ranked if row.kit == name)
    assert row.fits
    assert best - SCORE_ATOL <= row.peak_toe_change_deg <= best + RESOLUTION_DEG


def test_a_mirror_car_gets_the_one_wheel_ranking():
    told = suggest_kits_for_both(car_of(MIRRORED_TEXT), DEMO_KITS, PLAN).together.ranked
    alone = suggest_kits(one_wheel(MIRRORED_TEXT, "left"), DEMO_KITS, PLAN).ranked
    assert [row.kit for row in told] == [row.kit for row in alone]
    assert [row.left.outer_drop_mm for row in told] == [row.outer_drop_mm for row in alone]
    assert [row.peak_toe_change_deg for row in told] == pytest.approx(
        [row.peak_toe_change_deg for row in alone], abs=SCORE_ATOL
    )


def test_both_wheels_answers_are_about_number_1():
    answer = ranking()
    first = answer.together.ranked[0]
    for wheel, setting in ((answer, first.left), (answer.right, first.right)):
        assert wheel.ranked[0].kit == first.kit
        assert wheel.ranked[0].outer_drop_mm == setting.outer_drop_mm
        assert wheel.ranked[0].rack_raise_mm == first.rack_raise_mm
        best = np.abs(wheel.curves.best_deg).max()
        assert best == pytest.approx(setting.peak_toe_change_deg, abs=SCORE_ATOL)


def test_a_kit_goes_on_both_wheels_even_where_one_is_right_as_it_stands():
    # The right wheel's own best is to leave it; with a kit that starts at 3 mm it can't be left.
    answer = suggest_kits_for_both(
        car_of(DEMO_TEXT), kits(kit("from 3", stack={"min": 3.0, "max": 16.0, "step": 0.5})), PLAN
    )
    (row,) = (row for row in answer.together.ranked if row.kit)
    assert min(row.left.outer_drop_mm, row.right.outer_drop_mm) >= 3.0


def test_with_a_kit_that_needs_no_stack_the_wheel_that_is_right_as_it_stands_gets_none():
    cured = moved(DEMO_TEXT, "right", "tie_rod_outer", (0.0, 0.0, -4.0)).replace(
        "[0.0, 2.0, 4.0]", "[0.0]"
    )
    coarse = kit("washers", stack={"min": 0.0, "max": 12.0, "step": 4.0})
    told = suggest_kits_for_both(car_of(cured), kits(coarse), PLAN)
    first = told.together.ranked[0]
    assert (first.kit, first.left.outer_drop_mm, first.right.outer_drop_mm) == (
        "washers",
        12.0,
        0.0,
    )
    assert not first.is_as_is
    assert first.peak_toe_change_deg < 0.05
    assert told.ranked[0].kit == told.right.ranked[0].kit == "washers"
    proof = told.together.certificate
    assert (proof.left_settings, proof.right_settings, proof.pairs) == (4, 4, 15)
    report = " ".join(suggest_both_report(told, "car.toml").split())
    assert "Fit washers on both wheels; left: drop outer 12.0 mm; right: standard seat." in report


def test_reach_counts_no_kit_as_met_by_a_wheel_that_it_can_not_leave_as_it_is():
    cured = moved(DEMO_TEXT, "right", "tie_rod_outer", (0.0, 0.0, -4.0)).replace(
        "[0.0, 2.0, 4.0]", "[0.0]"
    )
    late = kit("from 10", stack={"min": 10.0, "max": 12.0, "step": 1.0})
    told = reach_both(car_of(cured), [20.0], [late])
    (row,) = told.together.heights
    assert (row.reachable, row.stopped_by) == (False, ["right"])
    assert row.right_outer_drop_mm == 10.0


def test_where_no_kit_is_better_both_wheels_are_left_and_the_answers_say_so():
    cured = moved(DEMO_TEXT, "left", "tie_rod_outer", (0.0, 0.0, -12.0))
    cured = moved(cured, "right", "tie_rod_outer", (0.0, 0.0, -4.0))
    answer = suggest_kits_for_both(car_of(cured), kits(kit("one")), PLAN)
    assert [row.kit for row in answer.together.ranked] == [None, "one"]
    assert answer.together.ranked[0].is_as_is
    assert answer.ranked[0].is_as_is
    assert answer.right.ranked[0].is_as_is
    assert answer.together.total_toe.total_best_deg == answer.together.total_toe.total_as_is_deg
    assert "With number 1: o left wheel" not in suggest_both_report(answer, "car.toml")


def test_equal_kits_are_ranked_by_their_price_and_the_taper_is_left_alone_first():
    told = suggest_kits_for_both(
        car_of(DEMO_TEXT),
        kits(
            kit("drilled", seat="straight-bolt", price=1.0),
            kit("dear", price=90.0),
            kit("unpriced"),
            kit("cheap", price=40.0),
        ),
        PLAN,
    )
    names = [row.kit for row in told.together.ranked if row.kit]
    assert names == ["cheap", "dear", "unpriced", "drilled"]


def test_a_kit_without_a_stud_says_that_the_car_s_own_of_the_other_seat_is_not_judged():
    stud = '[stud]\nseat = "straight-bolt"\ndiameter = 16.0\nstandard_height = 24.0\n'
    told = suggest_kits_for_both(car_of(f"{DEMO_TEXT}\n{stud}"), kits(kit("tapered")), PLAN)
    assert told.cautions[0].startswith("tapered states no stud")
    assert told.stud is None


def test_a_kit_that_drills_the_taper_out_says_so_first():
    told = suggest_kits_for_both(
        car_of(DEMO_TEXT), kits(kit("drilled", seat="straight-bolt")), PLAN
    )
    assert told.cautions[0].startswith("drilled is held by a straight bolt")
    report = suggest_both_report(told, "car.toml")
    assert "Fit drilled on both wheels; left: drop outer" in " ".join(report.split())


def test_a_kit_that_fits_neither_wheel_is_named_with_its_reasons():
    text = DEMO_TEXT + "\n[[obstacles]]\nkind = 'disc'\nname = 'in the way'\ndiameter = 500.0\n"
    text += "inboard = -120.0\noutboard = 10.0\n"
    told = suggest_kits_for_both(car_of(text), kits(kit("one")), PLAN)
    assert not any(row.fits for row in told.together.ranked)
    assert all(row.reasons for row in told.together.ranked)
    assert told.together.certificate.best_peak_toe_change_deg is None


def test_on_a_car_whose_rack_must_move_a_kit_is_tried_only_where_the_rack_can_sit():
    text = DEMO_TEXT.replace("[0.0, 2.0, 4.0]", "[4.0]")
    told = suggest_kits_for_both(car_of(text), kits(kit("one")), PLAN).together
    (row,) = (row for row in told.ranked if row.kit)
    assert row.rack_raise_mm == 4.0
    assert told.certificate.rack_heights == 1


def test_a_custom_pivot_names_the_kit_that_carries_it():
    room = "\n[custom_pivot]\nouter = { x = [-5.0, 5.0], y = [-8.0, 4.0], z = [-20.0, 5.0] }\n"
    plan = SuggestPlan(StudyPlan(trials=2), custom=True)
    told = suggest_kits_for_both(car_of(DEMO_TEXT + room), kits(kit("one")), plan)
    assert told.custom.kit == told.right.custom.kit == "one"
    assert told.custom.rack_raise_mm == told.right.custom.rack_raise_mm
    # Each wheel's pivot is made for itself; the table above tells of the turns of both.
    report = " ".join(suggest_both_report(told, "car.toml").split())
    assert report.count("The inner wheel of a turn, the other side a mirror image, steers") == 2


def test_no_column_of_the_ranking_is_cut_off():
    report = suggest_both_report(ranking(), "car.toml")
    lines = report.splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith("What to fit"))
    for row in ranking().together.ranked:
        (line,) = (x for x in lines[start:] if re.match(rf" +{row.rank}  ", x))
        gap = min(row.left.clearance_mm, row.right.clearance_mm)
        assert line.endswith(f" {gap:.1f}")
