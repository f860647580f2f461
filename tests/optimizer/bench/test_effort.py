"""Number 1 is the least work of what is good enough, whatever a gauge would tell beside it.

The demo strut car with a wider tolerance: one washer stack alone against more pieces and a moved
rack that peak a little less.
"""

from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner, sampled_toe, toe_spread
from optimizer.car.settings import Settings
from optimizer.files.case_file import car_from_toml, read_case
from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import STRUT, WISHBONE, changed

TOLERANCE_DEG = 0.13


def asked(more: str = "", tolerance_deg: float = TOLERANCE_DEG) -> SuggestResult:
    text = changed(STRUT, r"^tolerance_deg = .*", f"tolerance_deg = {tolerance_deg}")
    return suggest(car_from_toml(f"{text}\n{more}", Path("car.toml")))


def work(row: object) -> tuple[bool, float]:
    (wheel,) = row.wheels
    return not row.is_as_is, len(wheel.stack_mm) + 4.0 * (row.rack_raise_mm != 0.0)


def test_a_stack_alone_goes_before_a_moved_rack_where_both_are_good_enough():
    found = asked()
    first, *others = (row for row in found.ranked if row.fits)
    assert (first.wheels[0].outer_drop_mm, first.rack_raise_mm) == (7.0, 0.0)
    least = min(others, key=lambda row: row.peak_toe_change_deg)
    assert least.rack_raise_mm != 0.0
    assert least.peak_toe_change_deg + 0.01 < first.peak_toe_change_deg < TOLERANCE_DEG
    assert all(work(first) <= work(row) for row in others if row.peak_toe_change_deg < 0.12)
    told = found.verdict
    assert (told.meets, told.peak_deg) == (True, first.peak_toe_change_deg)
    assert told.least_deg == pytest.approx(least.peak_toe_change_deg, abs=1e-9)
    assert told.tape_deg > 4.0 * (told.peak_deg - told.least_deg)


def test_points_that_are_known_exactly_let_the_smaller_peak_stand_first():
    first = asked("[accuracy]\npoints = 0.001").ranked[0]
    assert first.rack_raise_mm != 0.0


def test_who_says_that_the_rack_is_the_easier_part_gets_it_moved():
    first = asked("[effort]\npiece = 10.0\nrack = 1.0").ranked[0]
    assert first.rack_raise_mm != 0.0


def test_a_tolerance_that_nothing_meets_leaves_the_ranking_to_the_peak():
    found = asked(tolerance_deg=0.05)
    assert found.ranked[0].peak_toe_change_deg <= found.verdict.least_deg + 0.01
    assert found.verdict.tape_deg is None


@pytest.mark.parametrize("path", [STRUT, WISHBONE], ids=["strut", "wishbones"])
def test_what_the_tape_leaves_open_is_what_many_measured_cars_scatter_by(path):
    evaluator = Evaluator.of(read_case(path))
    errors = np.random.default_rng(3).normal(size=(4000, len(evaluator.corner.measured), 3))
    travel = evaluator.travel[[0, evaluator.home, -1]]
    toe = sampled_toe(evaluator, moved_corner(evaluator, errors), Settings.single(), travel)
    scatter = float(np.nanstd(toe[:, [0, 2]] - toe[:, [1]], axis=0).max())
    assert toe_spread(evaluator) == pytest.approx(scatter, rel=0.05)
