"""Ride heights and kits: against `suggest` at the same height, and every stop put to the test."""

import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.motion import Reach
from optimizer.answers.curve import curve
from optimizer.answers.reach import OWN_HARDWARE
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.ride_heights import RideHeights, case_at
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.files.case_file import read_case
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.hardware import Rack
from optimizer.models.vehicle import Vehicle
from optimizer.options.hardware import case_with_kit
from optimizer.options.hardware_margins import hardware_margins
from optimizer.options.pair_margins import SettingsAtHeights
from optimizer.options.space import space_of
from optimizer.reports.terminal_reach import reach_report
from optimizer.units import MM_PER_INCH
from optimizer.wording.reader import Reader
from tests.optimizer.answers.reached import (
    ANGLE_ATOL_DEG,
    CASES,
    EXTENDED,
    HEIGHTS,
    LENGTH_ATOL_MM,
    LOWEST,
    SAME_ANGLE_ATOL_DEG,
    TRIED,
    WISHBONE,
    answer,
    car,
    free_of_limits,
    joint,
    kit,
    reach_of,
    rows_of,
    said,
    suggested,
    wheel_at,
)
from tests.optimizer.options.exhaustive import Exhaustive

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
                told = suggested(case_at(case_with_kit(car(path), one), row.lowered_by_mm))
                best = told.certificate.best_peak_toe_change_deg
                assert row.reachable == any(
                    option.fits and option.meets_tolerance for option in told.ranked
                )
                assert row.peak_toe_change_deg == pytest.approx(
                    best, rel=0.0, abs=SAME_ANGLE_ATOL_DEG
                )
                compared += 1
    assert compared or path == EXTENDED


def test_own_hardware_reaches_what_suggest_finds_at_the_same_height():
    result = reach_of(car(), HEIGHTS)
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
        (wheel,) = row.wheels
        (best,) = np.flatnonzero(
            (every.space.settings.outer_drop == wheel.outer_drop_mm)
            & (every.space.settings.rack_raise == row.rack_raise_mm)
        )
        assert every.fits[best]
        assert sum(wheel.stack_mm) == wheel.outer_drop_mm
        assert wheel.peak_toe_change_deg == wheel.alone_peak_deg == row.peak_toe_change_deg


def test_a_row_says_what_curve_says_of_the_same_setting_at_the_same_height():
    row = next(row for row in answer().heights if row.reachable and row.lowered_by_mm == 30.0)
    (wheel,) = row.wheels
    asked = CurveRequest(
        outer_drop=wheel.outer_drop_mm, rack_raise=row.rack_raise_mm, lowered_by=row.lowered_by_mm
    )
    (told,) = curve(Vehicle((car(),)), asked).wheels
    home = told.travel_mm.index(0.0)
    assert told.camber_deg[home] == pytest.approx(wheel.camber_deg, rel=0.0, abs=ANGLE_ATOL_DEG)
    assert told.caster_deg[home] == pytest.approx(wheel.caster_deg, rel=0.0, abs=ANGLE_ATOL_DEG)
    assert told.tie_rod_length_change_mm == pytest.approx(
        wheel.tie_rod_length_change_mm, rel=0.0, abs=LENGTH_ATOL_MM
    )
    points = car().points
    measured = np.linalg.norm(np.subtract(points.tie_rod_outer, points.tie_rod_inner))
    assert wheel.tie_rod_length_mm - wheel.tie_rod_length_change_mm == pytest.approx(measured)


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
    rows = Settings(np.array([0.0, 12.0, 25.0]), np.zeros(3), np.zeros(3, dtype=np.intp))
    pairs = SettingsAtHeights(RideHeights.of(case, heights), rows, 3)
    for limits, fitted in zip(hardware_margins(pairs, cases), cases, strict=True):
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
                for of_all, own in ((margin.margin, one.margin), (margin.value, one.value)):
                    assert of_all[part][near] == pytest.approx(own[near], rel=0.0, abs=1e-7)
                assert (margin.limit, margin.part) == (one.limit, one.part)


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
    result = reach_of(car(), [5.0, 30.0, 55.0], [wide, narrow])
    for more, less in zip(rows_of(result, wide.name), rows_of(result, "narrow"), strict=True):
        assert more.reachable or not less.reachable
        if less.peak_toe_change_deg is not None:
            assert more.peak_toe_change_deg <= less.peak_toe_change_deg + SAME_ANGLE_ATOL_DEG


# --- what stops a kit, and by how much


def test_a_range_that_is_short_reaches_once_it_is_longer_by_what_is_said():
    case = free_of_limits(car(EXTENDED))
    wheel = wheel_at(case, 40.0, kit(0.0, 16.0))
    assert wheel.blocked_by == ["stack"]
    assert said(wheel, case) == [
        f"needs {wheel.needed.outer_drop_mm:.1f} mm, the kit ends at 16.0 mm"
    ]
    short = wheel.short_by["stack_mm"]
    assert 16.0 + short == pytest.approx(wheel.needed.outer_drop_mm)
    longer = kit(16.0 + short, 17.0 + short)
    assert wheel_at(case, 40.0, longer).peak_toe_change_deg == pytest.approx(
        wheel.needed.peak_toe_change_deg, rel=0.0, abs=1e-6
    )
    assert not wheel_at(case, 40.0, kit(0.0, 16.0 + short / 2.0)).reachable


def cured_car() -> Case:
    """A car that needs nothing 30 mm lower than measured."""
    cured = free_of_limits(car()).model_copy(update={"rack": Rack()})
    needed = wheel_at(cured, 30.0, kit(20.0, 30.0)).needed.outer_drop_mm
    points = cured.points.model_copy(
        update={"tie_rod_outer": tuple(np.add(cured.points.tie_rod_outer, (0.0, 0.0, -needed)))}
    )
    return cured.model_copy(update={"points": points})


@pytest.mark.parametrize("brings", [{}, {"rod_end": joint(30.0)}], ids=["washers", "a joint"])
def test_nothing_stacked_is_the_kit_s_for_suggest_as_well(brings):
    cured, coarse = cured_car(), kit(0.0, 40.0, 40.0, **brings)
    row = reach_of(cured, [30.0], [coarse]).heights[0]
    told = suggest(Vehicle((case_at(cured, 30.0),)), [coarse])
    best = {one.kit: one for one in told.ranked}[coarse.name]
    assert row.wheels[0].outer_drop_mm == best.wheels[0].outer_drop_mm == 0.0
    assert row.reachable
    assert best.meets_tolerance
    assert best.peak_toe_change_deg == pytest.approx(
        row.peak_toe_change_deg, rel=0.0, abs=SAME_ANGLE_ATOL_DEG
    )
    assert best.kit_idle == (not brings)
    assert told.ranked[0].kit is None


def test_a_kit_that_can_not_leave_the_car_as_it_is_does_not_suit_a_car_that_is_right_so():
    cured = cured_car()
    assert wheel_at(cured, 30.0, kit(0.0, 12.0)).outer_drop_mm == 0.0
    late = wheel_at(cured, 30.0, kit(10.0, 12.0))
    assert not late.reachable
    assert late.outer_drop_mm == 10.0
    assert said(late, cured) == ["needs 0.0 mm, the kit starts at 10.0 mm"]


def test_a_range_that_starts_too_late_says_where_it_starts():
    case = free_of_limits(car()).model_copy(update={"rack": Rack()})
    wheel = wheel_at(case, 30.0, kit(20.0, 30.0))
    assert wheel.blocked_by == ["stack"]
    assert said(wheel, case)[0].endswith("the kit starts at 20.0 mm")
    assert wheel.needed.outer_drop_mm == pytest.approx(20.0 - wheel.short_by["stack_mm"])


def test_the_stack_that_is_needed_has_the_smallest_peak_of_all_heights():
    case = free_of_limits(car()).model_copy(update={"rack": Rack()})
    needed = wheel_at(case, 30.0, kit(20.0, 30.0)).needed
    about = needed.outer_drop_mm + np.linspace(-3.0, 3.0, 601)
    rows = Settings(about, np.zeros(601), np.zeros(601, dtype=np.intp))
    peaks = np.degrees(np.abs(Evaluator.of(case_at(case, 30.0)).toe_change(rows)).max(axis=1))
    assert needed.peak_toe_change_deg <= peaks.min() + 1e-5  # the comb is a hundredth of a mm wide
    assert abs(about[np.argmin(peaks)] - needed.outer_drop_mm) <= 0.02


def test_a_step_that_is_too_coarse_is_told_from_a_range():
    case = free_of_limits(car()).model_copy(update={"rack": Rack()})
    wheel = wheel_at(case, 30.0, kit(0.0, 40.0, 10.0))
    assert wheel.blocked_by == ["step"]
    needed, off = wheel.needed.outer_drop_mm, wheel.short_by["step_mm"]
    assert off == pytest.approx(abs(needed - 10.0 * round(needed / 10.0)))
    finer = kit(needed - off, needed + off, off)
    assert wheel_at(case, 30.0, finer).reachable


def test_a_joint_that_binds_is_free_once_it_tilts_by_what_is_said():
    case = car().model_copy(update={"obstacles": ()})
    wheel = wheel_at(case, 30.0, kit(0.0, 30.0, 0.5, rod_end=joint(7.0)))
    assert wheel.blocked_by == ["tilt"]
    assert "outer joint binds" in said(wheel, case)[0]
    enough = joint(7.0 + wheel.short_by["tilt_deg"] + 1e-6)
    assert wheel_at(case, 30.0, kit(0.0, 30.0, 0.5, rod_end=enough)).reachable


def test_a_rim_that_is_too_near_is_far_enough_once_it_is_wider_by_what_is_said():
    row = next(row for row in answer().heights if row.blocked_by == ["gap"])
    assert "rim" in row.reasons[0].name
    short = row.short_by["gap_mm"]
    parts = tuple(
        part.model_copy(update={"gap": part.gap - short - 1e-6}) for part in car().obstacles
    )
    case = car().model_copy(update={"obstacles": parts})
    one = next(one for one in TRIED if one.name == row.kit)
    assert wheel_at(case, row.lowered_by_mm, one).reachable


def test_no_stack_cures_a_curve_that_is_said_to_be_past_curing():
    case = car(CASES / "lowered-strut.toml")
    wheel = wheel_at(free_of_limits(case), 40.0, kit(0.0, 16.0))
    assert wheel.blocked_by == ["curve"]
    assert "which no stack cures" in said(wheel, case)[0]
    drops, raises = np.meshgrid(np.arange(-40.0, 60.0, 0.1), case.rack.spacers)
    every = Settings(drops.ravel(), raises.ravel(), np.zeros(drops.size, dtype=np.intp))
    peaks = np.degrees(np.abs(Evaluator.of(case).toe_change(every)).max(axis=1))
    tolerance = case.aim.tolerance_deg
    assert peaks.min() > tolerance
    # A stack half a step of the comb away from the best adds up to 0.004 deg.
    assert peaks.min() - tolerance == pytest.approx(wheel.short_by["peak_deg"], rel=0.0, abs=4e-3)
    assert wheel.short_by["peak_deg"] <= peaks.min() - tolerance


@pytest.mark.parametrize(
    ("excess_deg", "told"),
    [(0.0009, "less than 0.001 in"), (0.00375, "0.0015 in"), (0.1236, "0.051 in")],
)
def test_what_is_too_much_is_told_as_finely_as_toe(excess_deg, told):
    case = read_case(CASES / "kit-car-inches.toml")
    assert Reader(subject_of(Vehicle((case,)))).toe_excess(excess_deg) == told


def test_what_a_curve_leaves_is_said_in_the_toe_unit_of_the_case():
    case = read_case(CASES / "kit-car-inches.toml")
    wheel = wheel_at(case, 0.0)
    assert wheel.blocked_by == ["curve"]
    leaves, short = re.findall(r"([0-9.]+) in(?: too much|,)", said(wheel, case)[0])[:2]
    diameter = case.display.diameter / MM_PER_INCH
    # Half of the last digit that is printed.
    assert float(leaves) == pytest.approx(
        diameter * np.sin(np.radians(wheel.needed.peak_toe_change_deg)), rel=0.0, abs=5e-4
    )
    assert float(short) == pytest.approx(
        diameter * np.sin(np.radians(wheel.short_by["peak_deg"])), rel=0.05
    )


def test_a_height_that_the_arms_do_not_follow_says_how_much_travel_is_missing():
    wheel = wheel_at(car(), LOWEST, kit(0.0, 30.0))
    assert wheel.blocked_by == ["linkage"]
    missing = wheel.short_by["travel_mm"]
    highest = LOWEST + car().ride.bump - missing
    evaluator = Evaluator.of(case_at(car(), 0.0))
    reached = evaluator.motion(Settings.single(), np.array([highest - 0.2, highest + 0.2])).reach[0]
    assert list(reached == Reach.REACHED) == [True, False]
    assert wheel.outer_drop_mm is None
    assert "can't be joined" in said(wheel, car())[0]


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
    wheel = wheel_at(bare, 30.0)
    assert (wheel.outer_drop_mm, wheel.rack_raise_mm, wheel.stack_mm) == (0.0, 0.0, [])
    assert wheel.blocked_by[0] == "stack"
