"""Limits followed between the places at which they were looked at, wherever that may matter."""

from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.refinement import Looked, Smallest, smallest_values
from geometry.sag import Grid
from geometry.vectors import Array
from optimizer.car.settings import Rows
from optimizer.limits.watched import Margin, Watched
from optimizer.models.limits import TOLD_TO

Watch = Callable[[Rows, Grid], Iterator[Watched]]
Needed = Callable[[Watched], tuple[float, float]]
Follow = Literal["undecided", "named", "broken", "smallest"]
Flags = NDArray[np.bool_]


def followed(watch: Watch, grid: Grid, *, follow: Follow, needed: Needed) -> list[Margin]:
    """Margins of M candidates over the whole of a grid's travel x lock.

    Parameters
    ----------
    watch : callable
        Makes what is watched of some candidates, each on a grid of its own; the linkage's reach
        comes first.
    grid : Grid
        Where all of them are looked at first.
    follow, needed
        As for `optimizer.limits.margins.margins`.

    Returns
    -------
    list of Margin
        One for all that is watched.  A limit that was followed has the same value whatever else is.
    """
    every = np.arange(len(grid.travel))
    watched, places = list(watch(every, grid)), grid.places
    values = [one.value() for one in watched]
    looks = [one.looked(value, grid) for one, value in zip(watched, values, strict=True)]
    found = [one.worst(value, *places) for one, value in zip(watched, values, strict=True)]
    matters = _to_follow(found, looks, follow, np.array([needed(one) for one in watched]))
    for k, rows in enumerate(map(np.flatnonzero, matters)):
        if rows.size:
            closer = smallest_values(_looking(watch, rows, k), _rows(looks[k], rows), TOLD_TO)
            found[k] = _with_followed(found[k], watched[k], rows, closer)
            reach = [one.name for one in watched].index(watched[k].reach)
            found[reach] = _with_lost(found[reach], rows, closer.lost)
    return found


def _to_follow(
    found: Sequence[Margin], looks: Sequence[Looked], follow: Follow, needed: Array
) -> Flags:
    """Whether to follow each limit of each candidate, (L, M); `needed` is (L, 2)."""
    least, most = needed.T[:, :, None]
    floors = _floors(looks)
    wanted: Flags = floors < most
    broken = np.array([one.margin for one in found]) < least
    if follow == "undecided":
        wanted &= ~broken.any(axis=0)
    if follow == "named":
        wanted &= ~broken.any(axis=1, keepdims=True)
    if follow == "smallest":
        wanted |= _may_be_smallest(found, floors)
    return wanted


def _may_be_smallest(found: Sequence[Margin], floors: Array) -> Flags:
    """Whether each may be the smallest gap or the least margin of tilt, (L, M)."""
    smallest = np.zeros(floors.shape, dtype=bool)
    for kind in ("tilt", "gap"):
        rows = [k for k, one in enumerate(found) if one.kind == kind]
        if rows:
            # Gaps are compared by themselves, whatever gap is wanted.
            limits = np.array([[found[k].limit if kind == "gap" else 0.0] for k in rows])
            least = (np.array([found[k].margin for k in rows]) + limits).min(axis=0)
            smallest[rows] = floors[rows] + limits < least
    return smallest


def _floors(looks: Sequence[Looked]) -> Array:
    """Least margin that any cell may hold, (L, M); those without a pose at a corner don't count."""
    floors = [look.floor.reshape(len(look.floor), -1) for look in looks]
    return np.array([np.where(np.isnan(floor), np.inf, floor).min(axis=1) for floor in floors])


def _looking(watch: Watch, rows: Rows, k: int) -> Callable[[Rows, Grid], Looked]:
    """Look at one limit of some candidates."""

    def look(which: Rows, grid: Grid) -> Looked:
        one = next(islice(watch(rows[which], grid), k, None))
        return one.looked(one.value(), grid)

    return look


def _rows(look: Looked, rows: Rows) -> Looked:
    grid = Grid(look.grid.travel[rows], look.grid.rack[rows])
    return Looked(grid, look.value[rows], look.floor[rows])


def _with_followed(known: Margin, one: Watched, rows: Rows, closer: Smallest) -> Margin:
    """Margin of all candidates, with what was found by following it for some."""
    value = one.value_at(closer.value)
    return known.with_rows(rows, value, closer.value, *closer.place.T)


def _with_lost(known: Margin, rows: Rows, lost: Array) -> Margin:
    """Reach of all candidates, with the places where some that were followed have no pose."""
    new = ~np.isnan(lost[:, 0]) & (known.margin[rows] > 0.0)
    stuck = np.full(np.count_nonzero(new), -1.0)
    return known.with_rows(rows[new], stuck, stuck, *lost[new].T)
