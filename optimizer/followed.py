"""Limits followed between the places at which they were looked at, wherever that may matter."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.refinement import Looked, Smallest, smallest_values
from geometry.sag import Grid
from geometry.vectors import Array
from optimizer.adjust import Rows
from optimizer.models.limits import TOLD_TO
from optimizer.watched import Margin, Watched

Watch = Callable[[Rows, Grid], list[Watched]]
Needed = Callable[[Watched], tuple[float, float]]
Flags = NDArray[np.bool_]


def followed(watch: Watch, grid: Grid, *, smallest: bool, needed: Needed) -> list[Margin]:
    """Margins of M candidates over the whole of a grid's travel x lock.

    Parameters
    ----------
    watch : callable
        Makes what is watched of some candidates, each on a grid of its own; the linkage's reach
        comes first.
    grid : Grid
        Where all of them are looked at first.
    smallest, needed
        As for `optimizer.limits.margins`.

    Returns
    -------
    list of Margin
        One for all that is watched.  A limit that was followed has the same value whatever else is.
    """
    every = np.arange(len(grid.travel))
    watched, places = watch(every, grid), grid.places
    values = [one.value() for one in watched]
    looks = [one.looked(value, grid) for one, value in zip(watched, values, strict=True)]
    found = [one.worst(value, *places) for one, value in zip(watched, values, strict=True)]
    if smallest:
        matters = _may_matter(found, looks)
    else:
        matters = _may_be_broken(found, looks, [needed(one) for one in watched])
    for k, rows in enumerate(map(np.flatnonzero, matters)):
        if rows.size:
            closer = smallest_values(_looking(watch, rows, k), _rows(looks[k], rows), TOLD_TO)
            found[k] = _with_followed(found[k], watched[k], rows, closer)
            reach = next(i for i, one in enumerate(watched) if one.name == watched[k].reach)
            found[reach] = _with_lost(found[reach], rows, closer.lost)
    return found


def _may_be_broken(
    found: Sequence[Margin], looks: Sequence[Looked], needed: Sequence[tuple[float, float]]
) -> Flags:
    """Whether each limit of each candidate must be followed to tell what fits, (L, M)."""
    margins = np.array([margin.margin for margin in found])
    least, most = np.array(needed).T[:, :, None]
    broken = (margins < least).any(axis=0)
    open_yet: Flags = (_floors(looks) < most) & ~broken
    return open_yet


def _may_matter(found: Sequence[Margin], looks: Sequence[Looked]) -> Flags:
    """Whether each may be broken, or else be the smallest gap or tilt margin, (L, M)."""
    floors = _floors(looks)
    matters: Flags = floors < 0.0
    for kind in ("tilt", "gap"):
        rows = [k for k, margin in enumerate(found) if margin.kind == kind]
        if rows:
            # Gaps are compared by themselves, whatever gap is wanted.
            wanted = np.array([[found[k].limit if kind == "gap" else 0.0] for k in rows])
            least = np.min([found[k].margin for k in rows] + wanted, axis=0)
            matters[rows] |= floors[rows] + wanted < least
    return matters


def _floors(looks: Sequence[Looked]) -> Array:
    """Least margin that any cell may hold, (L, M); those without a pose at a corner don't count."""
    floors = [look.floor.reshape(len(look.floor), -1) for look in looks]
    return np.array([np.where(np.isnan(floor), np.inf, floor).min(axis=1) for floor in floors])


def _looking(watch: Watch, rows: Rows, k: int) -> Callable[[Rows, Grid], Looked]:
    """Look at one limit of some candidates."""

    def look(which: Rows, grid: Grid) -> Looked:
        one = watch(rows[which], grid)[k]
        return one.looked(one.value(), grid)

    return look


def _rows(look: Looked, rows: Rows) -> Looked:
    grid = Grid(look.grid.travel[rows], look.grid.rack[rows])
    return Looked(grid, look.value[rows], look.floor[rows])


def _with_followed(known: Margin, one: Watched, rows: Rows, closer: Smallest) -> Margin:
    """Margin of all candidates, with what was found by following it for some."""
    value = one.value_at(closer.value)
    return _replaced(known, rows, value, closer.value, closer.place)


def _with_lost(known: Margin, rows: Rows, lost: Array) -> Margin:
    """Reach of all candidates, with the places where some that were followed have no pose."""
    new = ~np.isnan(lost[:, 0]) & (known.margin[rows] > 0.0)
    stuck = np.full(np.count_nonzero(new), -1.0)
    return _replaced(known, rows[new], stuck, stuck, lost[new])


def _replaced(known: Margin, rows: Rows, value: Array, margin: Array, place: Array) -> Margin:
    parts = [x.copy() for x in (known.value, known.margin, known.travel, known.rack_travel)]
    for part, new in zip(parts, (value, margin, *place.T), strict=True):
        part[rows] = new
    return Margin(known.kind, known.name, parts[0], known.limit, *parts[1:])
