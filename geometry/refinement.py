"""Smallest values over rectangles of travel x rack, found by looking closer where they may be.

A look tells the values at the places of a grid and a lower bound of every cell between them.  A
cell whose bound lies little enough below the smallest value found can't hold one that matters and
is never looked at again; any other gets a grid of its own.  So the smallest value found is too
large by no more than that little: branch and bound [1], with the bounds of `geometry.sag`.

References
----------
[1] A. H. Land, A. G. Doig, An automatic method of solving discrete programming problems (1960);
    for one function B. O. Shubert, A sequential method seeking the global maximum of a function
    (1972); both from memory.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.sag import Grid
from geometry.vectors import Array

Rows = NDArray[np.intp]

PARTS = 4  # of each side of a cell that is looked at again
MOST_ROUNDS = 7  # a cell of 20 mm is then 0.001 mm wide
MOST_CELLS = 1000  # of one row at once
ALIKE = 1e-9  # values that differ by less are those of one place, the one nearest to the middle


@dataclass(frozen=True)
class Looked:
    """Values (N, R, H) at the places of N grids, and a `floor` (N, R - 1, H - 1) of every cell."""

    grid: Grid
    value: Array
    floor: Array


Look = Callable[[Rows, Grid], Looked]


@dataclass(frozen=True)
class Smallest:
    """Smallest value of each of M rows, (M,), and its `place` (M, 2), travel and rack. [mm].

    `lost` (M, 2) is a place that was met without a value, NaN where there was none.
    """

    value: Array
    place: Array
    lost: Array


def smallest_values(look: Look, first: Looked, enough: float) -> Smallest:
    """Find the smallest value of every row over the whole of its first grid.

    Parameters
    ----------
    look : callable
        Looks at rows (N,), any of them possibly several times, on a grid for each.
    first : Looked
        What is known of all rows, M of them.
    enough : float
        How far the smallest value found may lie above the true one.

    Returns
    -------
    Smallest
        Too large by no more than `enough`.  A row that would take more than `MOST_ROUNDS` or
        `MOST_CELLS` gets the least value that its open cells may hold.  Infinite without any value.
    """
    count = len(first.value)
    found = Smallest(np.full(count, np.inf), np.zeros((count, 2)), np.full((count, 2), np.nan))
    rows, seen = np.arange(count), first
    for rounds in range(MOST_ROUNDS + 1):
        _note(found, rows, seen)
        grids, *cells = np.nonzero(seen.floor < found.value[rows, None, None] - enough)
        owners = rows[grids]
        crowded = np.bincount(owners, minlength=count) > (MOST_CELLS if rounds < MOST_ROUNDS else 0)
        given_up = crowded[owners]
        floor = seen.floor[grids, *cells]
        np.minimum.at(found.value, owners[given_up], floor[given_up])
        go_on = ~given_up
        if not go_on.any():
            break
        rows, parents = owners[go_on], floor[go_on]
        closer = look(rows, _closer(seen.grid, grids[go_on], *(cell[go_on] for cell in cells)))
        seen = Looked(closer.grid, closer.value, np.maximum(closer.floor, parents[:, None, None]))
    return found


def _note(found: Smallest, rows: Rows, seen: Looked) -> None:
    """Keep the smallest value seen of each row, and its place."""
    value = seen.value.reshape(len(rows), -1)
    gone = np.isnan(value)
    some = np.flatnonzero(gone.any(axis=1))
    found.lost[rows[some]] = _place(seen, some, gone[some].argmax(axis=1))
    value = np.where(gone, np.inf, value)
    alike = value <= value.min(axis=1, keepdims=True) + ALIKE
    at = np.where(alike, _from_middle(seen.grid), np.inf).argmin(axis=1)
    least = value[np.arange(len(rows)), at]
    order = np.argsort(least, kind="stable")
    best = order[np.unique(rows[order], return_index=True)[1]]
    lower = best[least[best] < found.value[rows[best]]]
    moved = best[least[best] < found.value[rows[best]] - ALIKE]
    found.value[rows[lower]] = least[lower]
    found.place[rows[moved]] = _place(seen, moved, at[moved])


def _from_middle(grid: Grid) -> Array:
    """How far each place of some grids is from ride height and straight ahead, (N, R x H). [mm]."""
    away = np.abs(grid.rack)[:, :, None] + np.abs(grid.travel)[:, None, :]
    return away.reshape(len(away), -1)


def _place(seen: Looked, grids: Rows, at: Rows) -> Array:
    """Travel and rack at a place of each of some grids, numbered rack by rack, (K, 2). [mm]."""
    rack, travel = np.divmod(at, seen.value.shape[2])
    return np.stack([seen.grid.travel[grids, travel], seen.grid.rack[grids, rack]], axis=1)


def _closer(grid: Grid, grids: Rows, rack: Rows, travel: Rows) -> Grid:
    """Grids over single cells."""
    return Grid(_between(grid.travel[grids], travel), _between(grid.rack[grids], rack))


def _between(places: Array, cell: Rows) -> Array:
    """Places (N, P) to those of one cell each, its ends and `PARTS` - 1 between them."""
    if places.shape[1] == 1:
        return places
    one, other = (np.take_along_axis(places, cell[:, None] + side, axis=1) for side in (0, 1))
    share = np.arange(PARTS + 1) / PARTS
    return (1.0 - share) * one + share * other
