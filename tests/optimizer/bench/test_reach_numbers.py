"""The map of `reach` shows a peak in every cell, with the word that keeps it off the tolerance."""

import re

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.ride_heights import case_at
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.models.curve import CurveResult
from optimizer.models.reach import CurveLeft, NotJoined, ReachResult
from optimizer.reports.reach_cells import reached_in_a_cell
from optimizer.wording.reader import Reader
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, answer_of, changed, run


def test_a_cell_has_its_peak_whether_or_not_it_meets_the_tolerance(capsys):
    asked = ("reach", STRUT, "--kits", CASES / "kits.toml")
    run(*asked, "--json")
    answer = answer_of(ReachResult, capsys.readouterr().out)
    reader = Reader(answer.subject)
    missed = [x for x in answer.heights if not x.reachable and x.peak_toe_change_deg is not None]
    assert missed
    run(*asked)
    printed = capsys.readouterr().out
    for row in answer.heights:
        cell, peak = reached_in_a_cell(row, answer, reader), row.peak_toe_change_deg
        number = cell.split()[0]
        assert (peak is None) == number.isalpha()
        if peak is not None:
            assert float(number) == round(peak, 3)
            assert row.reachable == (peak <= answer.tolerance_deg) == (len(cell.split()) == 1)
        assert cell in printed


def reached(capsys, *asked):
    run("reach", *asked, "--json")
    return answer_of(ReachResult, capsys.readouterr().out)


def peak_deg(path, lowered_by, fitted, inner_move=(0.0, 0.0, 0.0)):
    """Peak of a setting of a left wheel at a ride height, by the exact motion."""
    evaluator = Evaluator.of(case_at(read_case(path), lowered_by))
    settings = Settings(
        np.array([fitted.outer_drop_mm]),
        np.array([fitted.rack_raise_mm]),
        np.array([0]),
        inner_move=np.array([inner_move]),
    )
    toe = evaluator.toe(settings, evaluator.travel)[0]
    return float(np.degrees(np.abs(toe - toe[evaluator.home] - evaluator.wanted).max()))


def test_each_kit_is_told_the_tolerance_that_it_would_meet(capsys):
    asked = (WISHBONE, "--kits", CASES / "kits.toml")
    answer = reached(capsys, *asked)
    for kit in answer.kits:
        rows = [row for row in answer.heights if row.kit == kit.name]
        peaks = {row.lowered_by_mm: row.peak_toe_change_deg for row in rows}
        found = [peak for peak in peaks.values() if peak is not None]
        assert kit.least_deg == min(found, default=None)
        assert peaks.get(kit.least_at_mm) == kit.least_deg
        assert kit.all_heights_deg == (max(found) if len(found) == len(rows) else None)
    assert {kit.least_deg is None for kit in answer.kits} == {True, False}
    run("reach", *asked)
    said = " ".join(capsys.readouterr().out.split())
    first = answer.kits[0]
    assert (
        f"It would meet a tolerance of {first.least_deg:.3f} deg at the height as measured, "
        f"{first.all_heights_deg:.3f} deg at all of these heights."
    ) in said


def test_one_setting_serves_a_width_of_ride_heights(capsys):
    asked = (WISHBONE, "--heights", "0:40:5")
    answer = reached(capsys, *asked)
    (kit,), heights = answer.kits, [row.lowered_by_mm for row in answer.heights]
    spot = kit.sweet_spot
    (fitted,) = spot.wheels
    inside = [x for x in heights if spot.highest_mm <= x <= spot.lowest_mm]
    peaks = [peak_deg(WISHBONE, height, fitted) for height in inside]
    assert spot.lowest_mm > spot.highest_mm
    assert max(peaks) <= answer.tolerance_deg
    assert max(peaks) == pytest.approx(spot.peak_toe_change_deg, abs=1e-6)
    # No other setting that is best somewhere serves as many heights, by the exact motion.
    for row in answer.heights:
        met = [
            peak_deg(WISHBONE, height, row.wheels[0]) <= answer.tolerance_deg for height in heights
        ]
        place = heights.index(row.lowered_by_mm)
        low, high = place, place
        while low > 0 and met[low - 1]:
            low -= 1
        while high < len(met) - 1 and met[high + 1]:
            high += 1
        assert heights[high] - heights[low] <= spot.lowest_mm - spot.highest_mm
    run("reach", *asked)
    width = f"{spot.lowest_mm - spot.highest_mm:.1f} mm of ride height, toe reset at each"
    assert width in " ".join(capsys.readouterr().out.split())


def test_a_stack_beyond_what_the_hardware_builds_is_called_so(capsys):
    asked = ("--heights", "40:40:1")
    (row,) = reached(capsys, CASES / "five-link-front.toml", *asked).heights
    (stop,) = row.reasons
    # 4 shims of 1 mm and 3 of 2.5 mm: 11.5 mm is all that they build.
    assert stop.needed.outer_drop_mm > stop.hardware_ends_mm == 11.5
    run("reach", CASES / "five-link-front.toml", *asked)
    said = " ".join(capsys.readouterr().out.split())
    assert "beyond 11.5 mm, where the hardware ends, leaves" in said
    (row,) = reached(capsys, STRUT, *asked).heights
    assert [one.hardware_ends_mm for one in row.reasons] == [None]


def test_both_wheels_have_one_setting_between_them(capsys):
    answer = reached(capsys, CASES / "two-sided-wishbone.toml")
    spot = answer.kits[0].sweet_spot
    assert [one.side for one in spot.wheels] == ["left", "right"]
    left, right = spot.wheels
    assert left.rack_raise_mm == right.rack_raise_mm


def test_beside_the_curve_s_own_shape_stands_what_would_cure_it(capsys):
    asked = (STRUT, "--heights", "40:40:1")
    (row,) = reached(capsys, *asked).heights
    (stop,) = (one for one in row.reasons if isinstance(one, CurveLeft))
    cure = stop.cure
    assert cure.longer_mm > 0.0
    needed = stop.needed.model_copy(update={"outer_drop_mm": cure.outer_drop_mm})
    moved = (0.0, -cure.longer_mm, 0.0)
    assert cure.peak_toe_change_deg == pytest.approx(peak_deg(STRUT, 40.0, needed, moved), abs=1e-6)
    assert cure.peak_toe_change_deg < 0.2 * stop.needed.peak_toe_change_deg
    run("reach", *asked)
    said = " ".join(capsys.readouterr().out.split())
    assert (
        f"the inner pivot {cure.longer_mm:.1f} mm inboard and {cure.outer_drop_mm:.1f} mm" in said
    )
    assert "a pivot made to measure (`suggest --custom`) may do better" in said


def test_a_limit_that_is_missed_by_a_trifle_is_told_by_how_much(capsys):
    asked = (WISHBONE, "--kits", CASES / "kits.toml")
    answer = reached(capsys, *asked)
    gaps = [
        stop for row in answer.heights for stop in row.reasons if getattr(stop, "kind", "") == "gap"
    ]
    assert min(stop.short for stop in gaps) < 0.05
    run("reach", *asked)
    said = " ".join(capsys.readouterr().out.split())
    told = [float(x) for x in re.findall(r"([\d.]+) mm less than wanted", said)]
    assert told
    assert min(told) > 0.0


def test_a_curve_that_no_stack_cures_doesn_t_hide_the_limits_that_are_broken_as_well(capsys):
    answer = reached(capsys, STRUT, "--heights", "40:175:135", "--kits", CASES / "kits.toml")
    kept, broken = answer.heights[:6], answer.heights[6:]
    assert all(row.peak_toe_change_deg is not None for row in kept)
    assert not any({"curve", "tilt"} <= {*row.blocked_by} for row in kept)
    for row in broken:
        assert row.peak_toe_change_deg is None
        assert row.blocked_by[:2] == ["curve", "tilt"]
        left, stop = row.reasons[:2]
        fitted = ("--outer-drop", left.needed.outer_drop_mm, "--rack-raise")
        there = ("--lowered-by", 175.0, "--rack-travel", stop.rack_travel_mm)
        run("curve", STRUT, *fitted, left.needed.rack_raise_mm, *there, "--json")
        wheel = answer_of(CurveResult, capsys.readouterr().out).wheels[0]
        tilt = wheel.outer_tilt_deg[wheel.travel_mm.index(stop.travel_mm)]
        assert stop.value == pytest.approx(tilt, abs=0.01)
        assert stop.value > stop.limit
    run("reach", STRUT, "--heights", "175:175:1")
    assert "with the best stack, outer joint binds by" in " ".join(capsys.readouterr().out.split())


def test_where_the_rod_can_t_follow_at_all_no_stack_is_held_against_limits(capsys, tmp_path):
    path, short = tmp_path / "short.toml", "tie_rod_inner = [-118.0, 640.0, 268.0]"
    path.write_text(changed(STRUT, r"^tie_rod_inner .*", short), encoding="utf-8")
    (row,) = reached(capsys, path, "--heights", "120:120:1").heights
    assert [type(stop) for stop in row.reasons] == [NotJoined]
