"""Smallest values over rectangles, of functions whose smallest value is known."""

import numpy as np
import pytest

from geometry.refinement import MOST_CELLS, Looked, smallest_values
from geometry.sag import Grid
from geometry.vectors import Array

ENOUGH = 0.01
LOW, HIGH = -40.0, 60.0


class Watching:
    """A function of travel and rack with a bounded slope, one row for each of its parameters.

    The bound of a cell is its smallest corner, less the slope times half the way round its sides.
    """

    def __init__(self, function, slope: float, rows: int = 1) -> None:
        self.function, self.slope, self.rows = function, slope, rows
        self.looks: list[int] = []

    def __call__(self, rows, grid: Grid) -> Looked:
        self.looks.append(len(rows))
        travel, rack = grid.travel[:, None, :], grid.rack[:, :, None]
        value = self.function(rows[:, None, None], travel, rack) + 0.0 * (travel + rack)
        corners = np.minimum.reduce(
            [value[:, a : a + r, b : b + h] for a in (0, 1) for b in (0, 1)]
            if (r := grid.rack.shape[1] - 1) and (h := grid.travel.shape[1] - 1)
            else [value[:, :, :-1], value[:, :, 1:]]
        )
        reach = self._widest(grid.rack)[:, :, None] + self._widest(grid.travel)[:, None, :]
        return Looked(grid, value, corners - 0.5 * self.slope * reach)

    @staticmethod
    def _widest(places: Array) -> Array:
        return np.diff(places) if places.shape[1] > 1 else np.zeros(places.shape)

    def first(self, racks: int = 5) -> Looked:
        travel, rack = np.linspace(LOW, HIGH, 6), np.linspace(-50.0, 50.0, racks)
        every = np.arange(self.rows)
        found = self(every, Grid(*(np.tile(side, (self.rows, 1)) for side in (travel, rack))))
        self.looks.clear()
        return found

    def smallest(self):
        return smallest_values(self, self.first(), ENOUGH)


def cone(row, travel, rack):
    """Smallest where the row says, with a sharp edge there; it may lie on a side."""
    at = np.array([[-33.3, 7.7], [12.1, -50.0], [60.0, 50.0]])[row]
    return 2.0 + 0.5 * np.hypot(travel - at[..., 0], rack - at[..., 1])


def test_the_smallest_value_and_its_place_are_found_for_every_row():
    found = Watching(cone, slope=0.5, rows=3).smallest()
    np.testing.assert_array_less(found.value, 2.0 + ENOUGH)
    np.testing.assert_array_less(2.0 - 1e-12, found.value)
    at = np.array([[-33.3, 7.7], [12.1, -50.0], [60.0, 50.0]])
    # Within ENOUGH of the smallest value the cone is this wide.
    assert np.abs(found.place - at).max() <= ENOUGH / 0.5
    assert np.isnan(found.lost).all()


def test_of_a_value_that_is_the_same_all_over_the_middle_is_named():
    """Ride height, straight ahead; what arithmetic leaves of a difference moves it nowhere."""
    flat = Watching(
        lambda _, travel, rack: -3.0 - 1e-15 * (np.abs(travel) + np.abs(rack)), slope=0.002
    )
    found = flat.smallest()
    assert flat.looks
    assert found.value == pytest.approx(-3.0, abs=1e-12)
    np.testing.assert_array_equal(found.place, [[0.0, 0.0]])


def test_a_row_has_the_same_value_whatever_others_are_asked_for():
    together = Watching(cone, slope=0.5, rows=3).smallest().value
    alone = smallest_values(one := Watching(cone, slope=0.5), one.first(), ENOUGH).value
    assert alone[0] == together[0]


def test_cells_that_stay_clear_are_never_looked_at_again():
    watching = Watching(lambda _, travel, rack: 100.0 + travel + rack, slope=1.0)
    found = watching.smallest()
    assert found.value[0] == 100.0 + LOW - 50.0
    # Of the 20 cells only those next to the smallest corner may hold less than is known.
    assert watching.looks[0] <= 3
    flat = Watching(lambda _, travel, rack: 0.0 * travel + 5.0, slope=0.0)
    assert flat.smallest().value[0] == 5.0
    assert flat.looks == []


def test_along_one_side_only_there_is_one_cell_in_a_row():
    """A wheel that does not steer."""
    watching = Watching(lambda _, travel, rack: np.abs(travel - 13.7), slope=1.0)
    found = smallest_values(watching, watching.first(racks=1), ENOUGH)
    assert found.value[0] <= ENOUGH


def test_a_row_that_would_take_too_long_gets_the_least_that_it_may_hold():
    # A valley that runs askew: everything along it is as small, and the bound knows little.
    watching = Watching(lambda _, travel, rack: np.abs(travel - 0.77 * rack), slope=40.0)
    found = watching.smallest()
    assert max(watching.looks) <= MOST_CELLS
    assert found.value[0] < 0.0


def test_a_place_without_a_value_is_told_and_bounds_nothing():
    def gone(row, travel, rack):
        return np.where((travel > 30.0) & (rack > 20.0), np.nan, cone(row, travel, rack))

    found = Watching(gone, slope=0.5, rows=2).smallest()
    assert found.value == pytest.approx([2.0, 2.0], abs=ENOUGH)
    assert (found.lost > [30.0, 20.0]).all()
