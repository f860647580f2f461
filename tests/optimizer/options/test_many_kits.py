"""Many kits at once: each fares as if it stood alone, and what they share is found once."""

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import read_car
from optimizer.options import candidates
from optimizer.options.dimensions import option_space
from tests.benchmarks.many_kits import many_kits
from tests.optimizer.command_line import CASES, WISHBONE

TWO_SIDED = CASES / "two-sided-wishbone.toml"
ROUNDING_DEG = 1e-9


def best_by_kit(vehicle, kits):
    """The option shown of each kit."""
    return {row.kit: row for row in suggest(vehicle, kits).ranked if row.kit is not None}


def alone(vehicle, kit):
    """The option that a kit by itself leaves in the place of its own."""
    found = suggest(vehicle, [kit], SuggestPlan(shown=1))
    return next(row for row in found.ranked if row.kit == kit.name)


@pytest.mark.parametrize("car", [WISHBONE, TWO_SIDED], ids=["one wheel", "both wheels"])
def test_a_kit_fits_among_many_as_it_does_alone(car):
    vehicle, kits = read_car(car), many_kits(44)
    together = best_by_kit(vehicle, kits)
    assert len(together) == len(kits)
    compared = 0
    for kit in kits[::11]:
        own, among = alone(vehicle, kit), together[kit.name]
        assert own.fits == among.fits
        for one, other in zip(own.wheels, among.wheels, strict=True):
            if one.outer_drop_mm == other.outer_drop_mm:  # either may ask less of what is as good
                compared += 1
                assert one.peak_toe_change_deg == pytest.approx(
                    other.peak_toe_change_deg, abs=ROUNDING_DEG
                )
                assert (one.tilt_margin_deg, one.clearance_mm) == pytest.approx(
                    (other.tilt_margin_deg, other.clearance_mm), abs=1e-6
                )
    assert compared >= 3


def test_rows_that_are_alike_have_what_each_would_have_by_itself():
    space = option_space(read_car(WISHBONE), many_kits(16))
    (wheel,) = space.wheels
    rows = np.concatenate([lot.rows[0][:3] for lot in space.lots])
    fits = wheel.fits(rows)
    assert 0 < np.count_nonzero(fits) < rows.size
    for row, kept in zip(rows.tolist(), fits.tolist(), strict=True):
        part, local = wheel.place(row)
        own = candidates.Candidates([wheel.parts[part]])
        assert own.fits(np.array([local]))[0] == kept


def test_batches_do_not_grow_in_number_with_kits_that_allow_the_same(monkeypatch):
    asked, solve = [], candidates.margins

    def counted(*arguments, **more):
        asked.append(1)
        return solve(*arguments, **more)

    monkeypatch.setattr(candidates, "margins", counted)
    counts = []
    for kits in (40, 160):
        asked.clear()
        suggest(read_car(WISHBONE), many_kits(kits))
        counts.append(len(asked))
    assert counts[1] < 2 * counts[0]
