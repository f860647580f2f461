"""Ride heights and kits: against `suggest` at the same height, and every stop put to the test."""

import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.motion import Reach
from optimizer.answers.curve import curve
from optimizer.answers.reach import OWN_HARDWARE, reach
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.car.ride_heights import RideHeights, case_at
from optimizer.files.case_file import read_case
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.hardware import Rack
from optimizer.models.kits import Kit
from optimizer.models.reach import ReachResult, ReachRow
from optimizer.options.hardware import case_with_kit
from optimizer.options.kit_margins import kit_margins
from optimizer.options.pair_margins import SettingsAtHeights
from optimizer.options.space import space_of
from optimizer.options.study.search import StudyPlan
from optimizer.reports.terminal_reach import reach_report
from optimizer.units import MM_PER_INCH

from .search.exhaustive import Exhaustive

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
# A pair is solved in a batch of its own, so sums are rounded in another order.
SAME_ANGLE_ATOL_DEG = 1e-9
CASES = Path(__file__).parents[2] / "cases"
WISHBONE = CASES / "track-wishbone.toml"
EXTENDED = CASES / "extended-strut.toml"
KITS = CASES / "kits.toml"


def kit(low: float, high: float, step: float = 1.0, **more: object) -> Kit:
    said = {
        "name": f"{low:g} to {high:g}",
        "seat": "tapered",
        "stack": {"min": low, "max": high, "step": step},
    }
    return Kit.model_validate(said | more)


def joint(tilt_limit_deg: float, diameter: float = 30.0, height: float = 20.0) -> dict[str, float]:
    return {
        "tilt_limit_deg": tilt_limit_deg,
        "housing_diameter": diameter,
        "housing_height": height,
    }


TRIED = (
    kit(0.0, 8.0, rod_end=joint(16.0)),
    kit(0.0, 30.0, 0.5, name="fine", rod_end=joint(10.0, 26.0, 34.0)),
    kit(9.0, 30.0, 3.0, name="coarse"),
)
LOWEST = 330.0  # far below what any spring allows: the arms of the wishbone car stand on end
HEIGHTS = [float(height) for height in range(0, 70, 6)]


@cache
def car(path: Path = WISHBONE) -> Case:
    return read_case(path)


@cache
def answer(path: Path = WISHBONE) -> ReachResult:
    return reach(car(path), HEIGHTS, TRIED)


def suggested(case: Case):
    return suggest(case, SuggestPlan(StudyPlan(trials=1)))


def rows_of(result: ReachResult, name: str) -> list[ReachRow]:
    return [row for row in result.heights if row.kit == name]


def row_at(case: Case, lowered_by: float, *kits: Kit) -> ReachRow:
    (row,) = reach(case, [lowered_by], kits).heights
    return row


# --- against suggest, and against every setting by the exact solver


@pytest.mark.parametrize("path", [WISHBONE, EXTENDED], ids=lambda path: path.stem)
def test_every_boundary_height_is_confirmed_by_suggest_on_both_sides(path):
    compared = 0
    for one in TRIED:
        rows = rows_of(answer(path), one.name)
        for above, below in pairwise(rows):
            if above.reachable == below.reachable:
                continue
            for row in (above, below):
                case = case_at(case_with_kit(car(path), one), row.lowered_by_mm)
                told = suggested(case)
                best = told.certificate.best_peak_toe_change_deg
                assert row.reachable == any(
                    setting.fits and setting.meets_tolerance for setting in told.ranked
                )
                assert row.peak_toe_change_deg == pytest.approx(
                    best, rel=0.0, abs=SAME_ANGLE_ATOL_DEG
                )
                compared += 1
    assert compared or path == EXTENDED


def test_own_hardware_reaches_what_suggest_finds_at_the_same_height():
    result = reach(car(), HEIGHTS)
    assert {row.kit for row in result.heights} == {OWN_HARDWARE}
    for row in result.heights[::3]:
        best = suggested(case_at(car(), row.lowered_by_mm)).certificate.best_peak_toe_change_deg
        assert row.peak_toe_change_deg == pytest.approx(best, rel=0.0, abs=SAME_ANGLE_ATOL_DEG)


@pytest.mark.parametrize("height", [18.0, 48.0])
def test_the_best_peak_is_that_of_trying_every_setting_by_the_exact_solver(height):
    for one in (TRIED[0], TRIED[2]):
        every = Exhaustive(case_at(case_with_kit(car(), one), height))
        row = next(r for r in rows_of(answer(), one.name) if r.lowered_by_mm == height)
        assert row.peak_toe_change_deg == pytest.approx(
            every.best_deg, rel=0.0, abs=SAME_ANGLE_ATOL_DEG
        )
        (best,) = np.flatnonzero(
            (every.space.settings.outer_drop == row.outer_drop_mm)
            & (every.space.settings.rack_raise == row.rack_raise_mm)
        )
        assert every.fits[best]
        assert sum(row.stack_mm) == row.outer_drop_mm


def test_a_row_says_what_curve_says_of_the_same_setting_at_the_same_height():
    row = next(row for row in answer().heights if row.reachable and row.lowered_by_mm == 30.0)
    asked = CurveRequest(
        outer_drop=row.outer_drop_mm, rack_raise=row.rack_raise_mm, lowered_by=row.lowered_by_mm
    )
    told = curve(car(), asked)
    home = told.travel_mm.index(0.0)
    assert told.camber_deg[home] == pytest.approx(row.camber_deg, rel=0.0, abs=ANGLE_ATOL_DEG)
    assert told.caster_deg[home] == pytest.approx(row.caster_deg, rel=0.0, abs=ANGLE_ATOL_DEG)
    assert told.tie_rod_length_change_mm == pytest.approx(
        row.tie_rod_length_change_mm, rel=0.0, abs=LENGTH_ATOL_MM
    )
    points = car().points
    measured = np.linalg.norm(np.subtract(points.tie_rod_outer, points.tie_rod_inner))
    assert row.tie_rod_length_mm - row.tie_rod_length_change_mm == pytest.approx(measured)


# --- what is shared between heights and kits


def test_poses_shared_by_all_heights_are_those_of_each_height_alone():
    heights = RideHeights.of(car(), np.array([40.0, 0.0, 13.0]))
    setting = Settings.single(7.0, 4.0)
    for evaluator in heights.evaluators:
        alone = Evaluator.of(evaluator.case)
        assert np.degrees(evaluator.toe_change(setting)) == pytest.approx(
            np.degrees(alone.toe_change(setting)), rel=0.0, abs=ANGLE_ATOL_DEG
        )


@pytest.mark.parametrize("path", [WISHBONE, EXTENDED, CASES / "lowered-strut.toml"])
def test_margins_shared_between_kits_are_those_of_each_kit_alone(path):
    case, heights = car(path), np.array([10.0, 30.0])
    cases = [case_with_kit(case, one) for one in TRIED]
    rows = Settings(np.array([0.0, 12.0, 25.0]), np.zeros(3), np.full(3, drop_of(case)))
    pairs = SettingsAtHeights(RideHeights.of(case, heights), rows, 3)
    for limits, fitted in zip(kit_margins(pairs, cases), cases, strict=True):
        shared = limits.margins(np.arange(6))
        for place, height in enumerate(heights):
            at = case_at(fitted, float(height))
            alone = {m.name: m for m in margins(Evaluator.of(at), rows, follow="broken")}
            stated = [m for m in shared if m.name in alone or np.isfinite(m.margin).any()]
            assert {m.name for m in stated} == set(alone)
            for margin in stated:
                part = slice(3 * place, 3 * place + 3)
                one = alone[margin.name]
                # What is kept by far may be told of another place: whichever any kit may break.
                near = one.margin < 0.0
                assert np.array_equal(margin.margin[part] < 0.0, near)
                for shared_part, own in ((margin.margin, one.margin), (margin.value, one.value)):
                    assert shared_part[part][near] == pytest.approx(own[near], rel=0.0, abs=1e-7)
                assert margin.limit == one.limit


def drop_of(case: Case) -> float:
    return case.lower_ball_joint.drop[0]


# --- tighter limits never reach more


@settings(max_examples=15, deadline=None)
@given(
    st.integers(0, 12),
    st.integers(4, 24),
    st.floats(7.0, 20.0),
    st.tuples(st.integers(0, 4), st.integers(0, 6), st.floats(0.0, 6.0), st.floats(0.0, 8.0)),
)
def test_tighter_limits_never_reach_more(low, steps, tilt, tighter):
    cut_low, cut_high, less_tilt, thicker = tighter
    wide = kit(low, low + steps, rod_end=joint(tilt, 28.0))
    narrow = kit(
        low + cut_low,
        max(low + cut_low, low + steps - cut_high),
        name="narrow",
        rod_end=joint(tilt - less_tilt, 28.0 + thicker),
    )
    result = reach(car(), [5.0, 30.0, 55.0], [wide, narrow])
    for more, less in zip(rows_of(result, wide.name), rows_of(result, "narrow"), strict=True):
        assert more.reachable or not less.reachable
        if less.peak_toe_change_deg is not None:
            assert more.peak_toe_change_deg <= less.peak_toe_change_deg + SAME_ANGLE_ATOL_DEG


# --- what stops a kit, and by how much


def free_of_limits(case: Case) -> Case:
    free = case.joint.outer.model_copy(update=dict.fromkeys(type(case.joint.outer).model_fields))
    return case.model_copy(
        update={"obstacles": (), "joint": case.joint.model_copy(update={"outer": free})}
    )


def test_a_range_that_is_short_reaches_once_it_is_longer_by_what_is_said():
    case = free_of_limits(car(EXTENDED))
    row = row_at(case, 40.0, kit(0.0, 16.0))
    assert row.blocked_by == ["stack"]
    assert row.reasons == [
        f"needs {row.needed.outer_drop_mm:.1f} mm, the kit ends at 16.0 mm",
    ]
    short = row.short_by["stack_mm"]
    assert 16.0 + short == pytest.approx(row.needed.outer_drop_mm)
    longer = kit(16.0 + short, 17.0 + short)
    assert row_at(case, 40.0, longer).peak_toe_change_deg == pytest.approx(
        row.needed.peak_toe_change_deg, rel=0.0, abs=1e-6
    )
    assert not row_at(case, 40.0, kit(0.0, 16.0 + short / 2.0)).reachable


def test_a_kit_that_can_not_leave_the_car_as_it_is_does_not_suit_a_car_that_is_right_so():
    cured = free_of_limits(car()).model_copy(update={"rack": Rack()})
    needed = row_at(cured, 30.0, kit(20.0, 30.0)).needed.outer_drop_mm
    points = cured.points.model_copy(
        update={"tie_rod_outer": tuple(np.add(cured.points.tie_rod_outer, (0.0, 0.0, -needed)))}
    )
    cured = cured.model_copy(update={"points": points})
    assert row_at(cured, 30.0, kit(0.0, 12.0)).outer_drop_mm == 0.0
    late = row_at(cured, 30.0, kit(10.0, 12.0))
    assert not late.reachable
    assert late.outer_drop_mm == 10.0
    assert late.reasons == ["needs 0.0 mm, the kit starts at 10.0 mm"]


def test_a_range_that_starts_too_late_says_where_it_starts():
    row = row_at(free_of_limits(car()).model_copy(update={"rack": Rack()}), 30.0, kit(20.0, 30.0))
    assert row.blocked_by == ["stack"]
    assert row.reasons[0].endswith("the kit starts at 20.0 mm")
    assert row.needed.outer_drop_mm == pytest.approx(20.0 - row.short_by["stack_mm"])


def test_the_stack_that_is_needed_has_the_smallest_peak_of_all_heights():
    case = free_of_limits(car()).model_copy(update={"rack": Rack()})
    needed = row_at(case, 30.0, kit(20.0, 30.0)).needed
    about = needed.outer_drop_mm + np.linspace(-3.0, 3.0, 601)
    rows = Settings(about, np.zeros(601), np.zeros(601))
    peaks = np.degrees(np.abs(Evaluator.of(case_at(case, 30.0)).toe_change(rows)).max(axis=1))
    assert needed.peak_toe_change_deg <= peaks.min() + 1e-5  # the comb is a hundredth of a mm wide
    assert abs(about[np.argmin(peaks)] - needed.outer_drop_mm) <= 0.02


def test_a_step_that_is_too_coarse_is_told_from_a_range():
    case = free_of_limits(car()).model_copy(update={"rack": Rack()})
    row = row_at(case, 30.0, kit(0.0, 40.0, 10.0))
    assert row.blocked_by == ["step"]
    needed, off = row.needed.outer_drop_mm, row.short_by["step_mm"]
    assert off == pytest.approx(abs(needed - 10.0 * round(needed / 10.0)))
    finer = kit(needed - off, needed + off, off)
    assert row_at(case, 30.0, finer).reachable


def test_a_joint_that_binds_is_free_once_it_tilts_by_what_is_said():
    case = car().model_copy(update={"obstacles": ()})
    row = row_at(case, 30.0, kit(0.0, 30.0, 0.5, rod_end=joint(7.0)))
    assert row.blocked_by == ["tilt"]
    assert "outer joint binds" in row.reasons[0]
    enough = joint(7.0 + row.short_by["tilt_deg"] + 1e-6)
    assert row_at(case, 30.0, kit(0.0, 30.0, 0.5, rod_end=enough)).reachable


def test_a_rim_that_is_too_near_is_far_enough_once_it_is_wider_by_what_is_said():
    row = next(row for row in answer().heights if row.blocked_by == ["gap"])
    assert "rim" in row.reasons[0]
    short = row.short_by["gap_mm"]
    parts = tuple(
        part.model_copy(update={"gap": part.gap - short - 1e-6}) for part in car().obstacles
    )
    case = car().model_copy(update={"obstacles": parts})
    one = next(one for one in TRIED if one.name == row.kit)
    assert row_at(case, row.lowered_by_mm, one).reachable


def test_no_stack_cures_a_curve_that_is_said_to_be_past_curing():
    case = car(CASES / "lowered-strut.toml")
    row = row_at(free_of_limits(case), 40.0, kit(0.0, 16.0))
    assert row.blocked_by == ["curve"]
    assert "which no stack cures" in row.reasons[0]
    drops, raises = np.meshgrid(np.arange(-40.0, 60.0, 0.1), case.rack.spacers)
    every = Settings(drops.ravel(), raises.ravel(), np.zeros(drops.size))
    peaks = np.degrees(np.abs(Evaluator.of(case).toe_change(every)).max(axis=1))
    tolerance = case.aim.tolerance_deg
    assert peaks.min() > tolerance
    # A stack half a step of the comb away from the best adds up to 0.004 deg.
    assert peaks.min() - tolerance == pytest.approx(row.short_by["peak_deg"], rel=0.0, abs=4e-3)
    assert row.short_by["peak_deg"] <= peaks.min() - tolerance


def test_what_a_curve_leaves_is_said_in_the_toe_unit_of_the_case():
    case = read_case(CASES / "kit-car-inches.toml")
    (row,) = reach(case, [0.0]).heights
    assert row.blocked_by == ["curve"]
    leaves, short = re.findall(r"([0-9.]+) in(?: too much|,)", row.reasons[0])
    diameter = case.display.diameter / MM_PER_INCH
    # Half of the last digit that is printed.
    assert float(leaves) == pytest.approx(
        diameter * np.sin(np.radians(row.needed.peak_toe_change_deg)), rel=0.0, abs=5e-4
    )
    assert float(short) == pytest.approx(
        diameter * np.sin(np.radians(row.short_by["peak_deg"])), rel=0.05
    )


def test_a_height_that_the_arms_do_not_follow_says_how_much_travel_is_missing():
    row = row_at(car(), LOWEST, kit(0.0, 30.0))
    assert row.blocked_by == ["linkage"]
    missing = row.short_by["travel_mm"]
    highest = LOWEST + car().ride.bump - missing
    evaluator = Evaluator.of(case_at(car(), 0.0))
    reached = evaluator.motion(Settings.single(), np.array([highest - 0.2, highest + 0.2])).reach[0]
    assert list(reached == Reach.REACHED) == [True, False]
    assert row.outer_drop_mm is None
    assert "can't be joined" in row.reasons[0]


def test_whatever_stops_a_kit_is_said_and_nothing_else_is():
    for row in answer().heights:
        assert row.reachable == (not row.blocked_by)
        assert bool(row.reasons) == bool(row.blocked_by)
        assert all(by > 0.0 for by in row.short_by.values())


# --- the map, and a car without hardware


@pytest.mark.parametrize("path", [WISHBONE, EXTENDED], ids=lambda path: path.stem)
def test_the_map_reads_as_it_did(path, same_as_golden, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    report = reach_report(answer(path), f"cases/{path.name}")
    assert max(len(line) for line in report.splitlines()) <= 100
    same_as_golden(f"{path.stem}.reach.txt", report)


def test_a_car_without_hardware_of_its_own_is_judged_as_it_is():
    bare = car().model_copy(
        update={"outer_pivot": car().outer_pivot.model_copy(update={"stack": None}), "rack": Rack()}
    )
    assert len(space_of(bare).settings) == 1
    row = row_at(bare, 30.0)
    assert (row.outer_drop_mm, row.rack_raise_mm, row.stack_mm) == (0.0, 0.0, [])
    assert row.blocked_by[0] == "stack"
