r"""How far a gap can sag, and a tilt rise, between places where both are known.

Poses are known at the places of a grid of wheel travel x rack travel.  Four neighbors bound a
cell; on it the gap is no smaller, and the tilt no larger, than the bounds of this module::

    gap
     |  o                          o     known at the places
     |    ` .                  . '
     |         ' - . ____ . - '          as it may run between them
     |  - - - - - - - - - - - - - -      bound of the cell
     +--|--------------------------|---- travel or rack travel

1. A straight line between two places misses a smooth path by no more than h^2 / 8 times the largest
   second derivative between them [1]; over a cell the two directions add up.  This `remainder` is
   found for the path of each point itself, not for the gap, which has edges.  The largest second
   derivative is taken from the second differences about the cell and the largest change from one
   of them to the next: each is a mean of the second derivative over its two steps, and a mean
   differs from any value near it by no more than what a neighbor's differs from it, as long as
   the third derivative keeps to its size over the few steps that took part.  A part of a cell that
   is looked at again is bounded by its own, closer differences.
2. Two parts that are convex are at least as far apart as their shadows on any line: for a vector n
   no longer than 1, the gap is at least the smallest n . (p - q) over their ends p and q.  Between
   the places n is blended from the directions in which the parts are nearest to each other there,
   so that the bound is exact at every place.  On the cell n . (p - q) is a product of two blends,
   and no smaller than the smallest of its Bernstein coefficients [2].  Each pair of ends has
   the remainder of the way from one to the other, so that two that stand still to each other, as
   the outer pivot and a part of the upright do, are bounded well however the others move.
3. The sine of a tilt is the length of a vector with a smooth path: a convex function of it, no
   larger than at the largest corner, except for the remainder.

The bounds differ from the true values by what shrinks with the square of the cell's size.

References
----------
[1] P. J. Davis, Interpolation and Approximation (1963), chapter 3 (from memory).
[2] G. Farin, Curves and Surfaces for CAGD, Bernstein polynomials and the convex hull (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from geometry.clearance import Capsule
from geometry.vectors import Array, dot, norm, unit


@dataclass(frozen=True)
class Grid:
    """Places of N grids: `travel` (N, H) and `rack` (N, R), each rising, 1 or at least 4. [mm].

    What is known at the places is (N, R, H, ...).  What is found of the cells between them is
    (N, R - 1, H - 1); of a direction with a single place, there is one cell without width.
    """

    travel: Array
    rack: Array

    @property
    def places(self) -> tuple[Array, Array]:
        """Travel and rack of all places in a row, rack by rack, (N, R * H) each. [mm]."""
        racks, heights = self.rack.shape[1], self.travel.shape[1]
        return np.tile(self.travel, (1, racks)), np.repeat(self.rack, heights, axis=1)


@dataclass(frozen=True)
class Swept(Capsule):
    """A capsule at the places of a grid, its ends (N, R, H, 3), or what stands still there."""

    grid: Grid

    @cached_property
    def missed_by_ends(self) -> list[Array]:
        """Remainders of its start and of its end, (2, N, R - 1, H - 1) each. [mm]."""
        return [remainder(end, self.grid) for end in (self.start, self.end)]

    @property
    def missed(self) -> Array:
        """Larger of the two, (2, N, R - 1, H - 1). [mm]."""
        ends: Array = np.maximum(*self.missed_by_ends)
        return ends


def swept(capsule: Capsule, grid: Grid) -> Swept:
    """Lay a capsule whose ends are known at places in a row, (N, R * H, 3), over their grid."""
    start, end = (on_grid(end, grid) for end in (capsule.start, capsule.end))
    return Swept(start, end, capsule.radius, grid)


def on_grid(value: Array, grid: Grid) -> Array:
    """What is known at the places in a row, (N, R * H, ...), as (N, R, H, ...).

    What broadcasts to all places, (K,) or (N, 1, K), still does.
    """
    if value.ndim < 2:
        return value
    sides = (1, 1) if value.shape[1] == 1 else (grid.rack.shape[1], grid.travel.shape[1])
    return value.reshape(len(value), *sides, *value.shape[2:])


def remainder(path: Array, grid: Grid) -> Array:
    """How far a path may be from the blend of a cell's corners, see 1. of this module.

    Parameters
    ----------
    path : (N, R, H, K) float array
        Vectors that follow smooth paths; one that broadcasts to a single place stands still.
    grid : Grid
        The places.

    Returns
    -------
    (2, N, R - 1, H - 1) float array
        What the chords along rack travel and those along wheel travel miss, each in the unit of the
        path; NaN next to a NaN.
    """
    if stands_still(path):
        return np.zeros((2, 1, 1, 1))
    by_rack = _missed_by_chords(path, grid.rack)
    by_travel = np.swapaxes(_missed_by_chords(np.swapaxes(path, 1, 2), grid.travel), 1, 2)
    return np.stack([np.maximum(*sides(by_rack, 2)), np.maximum(*sides(by_travel, 1))])


def stands_still(path: Array) -> bool:
    """Whether a path is given by a single place."""
    return path.ndim < 4 or path.shape[1:3] == (1, 1)


def _missed_by_chords(path: Array, places: Array) -> Array:
    """Most that the chords along the second axis miss, (N, A, B, K) to (N, A - 1, B)."""
    cells = max(1, path.shape[1] - 1)
    if path.shape[1] == 1:
        return np.zeros((len(path), cells, path.shape[2]))
    step = _steps(places)[..., None]
    rate = _steps(path) / step[..., None]
    bend = 2.0 * _steps(rate) / (step[:, 1:] + step[:, :-1])[..., None]
    size, change = norm(bend), norm(_steps(bend))
    most = _most_about(size, cells, 2) + _most_about(change, cells, 3)
    missed: Array = step**2 / 8.0 * most
    return missed


def _most_about(differences: Array, cells: int, about: int) -> Array:
    """Largest of the `about` differences that take in most of each cell, along the second axis."""
    most: Array = differences[:, _places(differences.shape[1], cells, about)].max(axis=1)
    return most


@cache
def _places(count: int, cells: int, about: int) -> NDArray[np.intp]:
    """Of `count` differences the places of those about each cell, (about, cells)."""
    places: NDArray[np.intp] = np.arange(cells) - np.arange(about)[:, None]
    return places.clip(0, count - 1)


def _steps(values: Array) -> Array:
    """From each to the next along the second axis."""
    difference: Array = values[:, 1:] - values[:, :-1]
    return difference


def capsule_floor(a: Swept, b: Swept, apart: Array) -> Array:
    """Lower bound of the gap of two capsules on every cell, see 2. of this module.

    Parameters
    ----------
    a, b : Swept
        On the same grid; one of them may stand still.
    apart : (N, R, H, 3) float array
        The shortest vector from the center line of `b` to that of `a`,
        see `geometry.clearance.separation`. [mm]

    Returns
    -------
    (N, R - 1, H - 1) float array
        The bound, never below the gap of center lines that cross. [mm]
    """
    distance = norm(apart)
    toward = apart / np.where(distance == 0.0, np.inf, distance)[..., None]
    floors = []
    for (end, missed), other in product(
        zip((a.start, a.end), a.missed_by_ends, strict=True), (b.start, b.end)
    ):
        way = np.broadcast_to(end - other, toward.shape)
        if not stands_still(other):
            missed = remainder(way, a.grid)
        at_corners, *between = _shadow(toward, way)
        floors.append(least_blend(corners(at_corners), missed, between))
    gap: Array = np.maximum(np.minimum.reduce(floors), 0.0) - a.radius - b.radius
    return gap


def least_blend(
    known: Sequence[Array], missed: Array, between: Sequence[Array] | None = None
) -> Array:
    """Least of a blend on every cell from its Bernstein coefficients, less what chords may miss.

    `known` are the values at the four corners in turn, as `corners` gives them; `between` those on
    the four sides in turn and inside, left out for a blend of the corners alone.  What the chords
    miss shrinks to nothing toward the corners: it is a blend itself, of coefficients that are twice
    as large between them.
    """
    if between is None:
        after = [*known[1:], known[0]]
        between = [0.5 * (one + other) for one, other in zip(known, after, strict=True)]
        between = [*between, 0.25 * np.sum(known, axis=0)]
    by_rack, by_travel = missed
    swelling = [by_travel, by_rack, by_travel, by_rack, by_rack + by_travel]
    corner = np.minimum.reduce(known)
    evenly = np.minimum.reduce([corner, *between]) - by_rack - by_travel
    swollen = [value - 2.0 * off for value, off in zip(between, swelling, strict=True)]
    floor: Array = np.maximum(evenly, np.minimum.reduce([corner, *swollen]))
    return floor


def _shadow(toward: Array, way: Array) -> list[Array]:
    """Product of two blends: at all places, and its coefficients on four sides and inside."""
    by_rack, by_travel = (_crossed(sides(toward, axis), sides(way, axis)) for axis in (1, 2))
    (along, back), (first, last) = sides(by_travel, 1), sides(by_rack, 2)
    return [dot(toward, way), along, last, back, first, _crossed(corners(toward), corners(way))]


def _crossed(toward: Sequence[Array], way: Sequence[Array]) -> Array:
    """Coefficient of a product of two blends that takes them from opposite corners."""
    half = len(toward) // 2
    across = zip(toward, [*way[half:], *way[:half]], strict=True)
    mean: Array = np.mean([dot(n, p) for n, p in across], axis=0)
    return mean


def plane_floor(part: Swept, point: Array, normal: Array) -> Array:
    """Lower bound of the gap to a plane that stands still, (N, R - 1, H - 1). [mm].

    Parameters as for `geometry.clearance.plane_gap`.
    """
    free = unit(normal)
    floors = [
        least_blend(corners(dot(end - point, free)), missed)
        for end, missed in zip((part.start, part.end), part.missed_by_ends, strict=True)
    ]
    gap: Array = np.minimum(*floors) - part.radius
    return gap


def largest_sine(lean: Array, grid: Grid) -> Array:
    """Upper bound of a sine on every cell, (N, R - 1, H - 1), see 3. of this module.

    `lean` (N, R, H, 3) has it for a length at the places of the grid.
    """
    return np.minimum(largest_length(lean, norm(lean), grid), 1.0)


def largest_length(path: Array, length: Array, grid: Grid) -> Array:
    """Upper bound of the `length` (N, R, H) of a smooth path (N, R, H, K) on every cell."""
    bound: Array = -least_blend(corners(-length), remainder(path, grid))
    return bound


def smallest_corner(value: Array) -> Array:
    """Smallest value at the corners of each cell, (N, R, H) to (N, R - 1, H - 1)."""
    least: Array = np.minimum.reduce(corners(value))
    return least


def largest_corner(value: Array) -> Array:
    """Largest value at the corners of each cell, (N, R, H) to (N, R - 1, H - 1)."""
    most: Array = np.maximum.reduce(corners(value))
    return most


def corners(value: Array) -> list[Array]:
    """Values at the four corners of each cell, in turn around it, (N, R - 1, H - 1, ...) each."""
    one, other = (sides(side, 2) for side in sides(value, 1))
    return [*one, *other[::-1]]


def sides(value: Array, axis: int) -> tuple[Array, Array]:
    """Values at both sides of each cell along an axis, the second (1) or the third (2)."""
    if value.shape[axis] == 1:
        return value, value
    return (value[:, :-1], value[:, 1:]) if axis == 1 else (value[:, :, :-1], value[:, :, 1:])
