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
   and no smaller than the smallest of its Bernstein coefficients [2].
3. Seen from the wheel, the outer pivot and a rim or disc stand still and the rod fans out from the
   pivot.  A straight line from a fixed point is named by its slope, and at each station along the
   axle its distance from the axle is a convex function of the slope: between the places it is never
   farther out than a blend of the corners, so the gap to a rim is never smaller than at the corner
   that is farthest out, except for the remainder of the slope.  For a disc, inside of which nothing
   may be, it also counts how far a chord of the fan lies within its arc.
4. The sine of a tilt is the length of a vector with a smooth path: a convex function of it, no
   larger than at the largest corner, except for the remainder.

The bounds differ from the true values by what shrinks with the square of the cell's size.

References
----------
[1] P. J. Davis, Interpolation and Approximation (1963), chapter 3 (from memory).
[2] G. Farin, Curves and Surfaces for CAGD, Bernstein polynomials and the convex hull (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.clearance import Capsule
from geometry.vectors import Array, dot, norm

NO_FAN = 1.0  # a rod that leads inboard by less is seen along the wheel, not as a fan [mm]


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
    def missed(self) -> Array:
        """Larger of the remainders of the two ends, (2, N, R - 1, H - 1). [mm]."""
        ends: Array = np.maximum(*(remainder(end, self.grid) for end in (self.start, self.end)))
        return ends


def swept(capsule: Capsule, grid: Grid) -> Swept:
    """Lay a capsule whose ends are known at places in a row, (N, R * H, 3), over their grid."""
    start, end = (on_grid(end, grid) for end in (capsule.start, capsule.end))
    return Swept(start, end, capsule.radius, grid)


@dataclass(frozen=True)
class Ring:
    """A rim or a disc as seen from the wheel: its `stations` along the axle, inboard first. [mm].

    `center` and the unit vector `axis` (3,) are as measured, `axis` pointing outboard.  `solid` is
    the radius of a disc, and None for a rim, which is open inside.
    """

    center: Array
    axis: Array
    stations: tuple[float, float]
    solid: float | None = None


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
    if path.ndim < 4 or path.shape[1:3] == (1, 1):
        return np.zeros((2, 1, 1, 1))
    by_rack = _missed_by_chords(path, grid.rack)
    by_travel = np.swapaxes(_missed_by_chords(np.swapaxes(path, 1, 2), grid.travel), 1, 2)
    return np.stack([np.maximum(*_sides(by_rack, 2)), np.maximum(*_sides(by_travel, 1))])


def _missed_by_chords(path: Array, places: Array) -> Array:
    """Most that the chords along the second axis miss, (N, A, B, K) to (N, A - 1, B)."""
    cells = max(1, path.shape[1] - 1)
    if path.shape[1] == 1:
        return np.zeros((len(path), cells, path.shape[2]))
    step = np.diff(places)[..., None]
    rate = np.diff(path, axis=1) / step[..., None]
    bend = 2.0 * np.diff(rate, axis=1) / (step[:, 1:] + step[:, :-1])[..., None]
    size, change = norm(bend), norm(np.diff(bend, axis=1))
    most = _most_about(size, cells, 2) + _most_about(change, cells, 3)
    missed: Array = step**2 / 8.0 * most
    return missed


def _most_about(differences: Array, cells: int, about: int) -> Array:
    """Largest of the `about` differences that take in most of each cell, along the second axis."""
    last = np.arange(cells)
    taken = [differences[:, np.clip(last - k, 0, differences.shape[1] - 1)] for k in range(about)]
    most: Array = np.maximum.reduce(taken)
    return most


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
    ends = [(capsule.start, capsule.end) for capsule in (a, b)]
    known = [[np.broadcast_to(end, toward.shape) for end in both] for both in ends]
    by_rack, by_travel = (
        _shadow(_sides(toward, axis), *([_sides(x, axis) for x in both] for both in known))
        for axis in (1, 2)
    )
    (along, back), (first, last) = _sides(by_travel, 1), _sides(by_rack, 2)
    inside = _shadow(corners(toward), *([corners(x) for x in both] for both in known))
    between = [along, last, back, first, inside]
    floor = _least_blend(corners(distance), a.missed + b.missed, between)
    gap: Array = np.maximum(floor, 0.0) - a.radius - b.radius
    return gap


def _least_blend(
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


def _shadow(
    toward: Sequence[Array], ends: Sequence[Sequence[Array]], others: Sequence[Sequence[Array]]
) -> Array:
    """Gap of two shadows, ends first: the coefficient of the blend that takes directions and ends
    from opposite corners.
    """
    half = len(toward) // 2

    def crossed(points: Sequence[Array]) -> Array:
        across = zip(toward, [*points[half:], *points[:half]], strict=True)
        mean: Array = np.mean([dot(n, p) for n, p in across], axis=0)
        return mean

    gap: Array = np.minimum(*map(crossed, ends)) - np.maximum(*map(crossed, others))
    return gap


def plane_floor(gap: Array, part: Swept) -> Array:
    """Lower bound of the gap (N, R, H) to a plane that stands still, (N, R - 1, H - 1). [mm]."""
    return _least_blend(corners(gap), part.missed)


def ring_floor(gap: Array, rod: Swept, ring: Ring) -> Array:
    """Lower bound of the gap of a rod to a rim or disc on every cell, see 3. of this module.

    Parameters
    ----------
    gap : (N, R, H) float array
        The gap at the places. [mm]
    rod : Swept
        As seen from the wheel: the start moves, the end does not, (N, R, H, 3) each.
    ring : Ring
        Rim or disc.

    Returns
    -------
    (N, R - 1, H - 1) float array
        The bound.  Where the rod does not lead inboard past the ring, so that there is no fan, it
        falls short by as far as the rod's start moves. [mm]
    """
    distance = smallest_corner(gap + rod.radius)
    start, end = (dot(x - ring.center, ring.axis) for x in (rod.start, rod.end))
    # The nearest point of the rod is no farther from the ring along the axle than in all.
    inmost = ring.stations[0] - np.maximum(distance, 0.0)
    pivot = largest_corner(end)
    lever = np.maximum(pivot - inmost, 0.0)
    fans = largest_corner(start) <= np.minimum(inmost, pivot - NO_FAN)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (rod.start - rod.end) / (start - end)[..., None]
        missed = lever * remainder(slope, rod.grid)
        if ring.solid is None:
            off = rod.end - ring.center
            off, slope = (x - dot(x, ring.axis)[..., None] * ring.axis for x in (off, slope))
            short = np.minimum(missed.sum(axis=0), _beyond_worst(gap, off, slope, lever, missed))
        else:
            short = missed.sum(axis=0) + _within_arc(slope, lever, ring.solid)
    moved = 0.5 * sum(_widths(rod.start)) + rod.missed.sum(axis=0)
    floor: Array = distance - np.where(fans, short, moved) - rod.radius
    return floor


def _beyond_worst(gap: Array, off: Array, slope: Array, lever: Array, missed: Array) -> Array:
    """How much farther from the axle than at the corner with the smallest gap a rod may get.

    A distance s inboard of its pivot, which stands `off` (N, R, H, 3) the axle, a rod of a slope is
    |off - s slope| away from the axle.  From the worst corner to another one the square of that
    changes by s times what is linear in s, and so smallest at an end of the lever.
    """
    worst = np.argmin(corners(gap), axis=0)[None, ..., None]
    slopes, pivot = np.stack(corners(slope)), corners(off)[0]
    (steepest,) = np.take_along_axis(slopes, worst, axis=0)
    ends = (norm(pivot), *(norm(pivot - lever[..., None] * one) for one in slopes))
    farthest = np.maximum.reduce(ends)
    nearer = []
    for one in slopes:
        at_pivot = -2.0 * dot(pivot, steepest - one)
        at_lever = at_pivot + lever * (dot(steepest, steepest) - dot(one, one))
        least = np.minimum(at_pivot, at_lever)
        change = np.where(least >= 0.0, 0.5 * least / farthest, -norm(steepest - one))
        nearer.append(lever * change)
    beyond: Array = np.maximum(-_least_blend(nearer, missed), 0.0)
    return beyond


def _within_arc(slope: Array, lever: Array, radius: float) -> Array:
    """How far a chord of the fan lies within its arc about a disc, at most."""
    wide = [lever * width for width in _widths(slope)]
    # The mean distance of points from an axis exceeds that of their mean, r, by no more than their
    # variance over 2 r.  Nearer than half of the radius only the faces count, whatever r is.
    spread = 0.25 * sum(width**2 for width in wide)
    within: Array = np.where(sum(wide) < 0.5 * radius, spread / radius, sum(wide))
    return within


def _widths(path: Array) -> list[Array]:
    """Longest chord of a path on each cell, along rack and along travel, (N, R - 1, H - 1) each."""
    found = []
    for axis in (1, 2):
        one, other = _sides(path, axis)
        found.append(np.maximum(*_sides(norm(other - one), 3 - axis)))
    return found


def largest_sine(lean: Array, grid: Grid) -> Array:
    """Upper bound of a sine on every cell, (N, R - 1, H - 1), see 4. of this module.

    `lean` (N, R, H, 3) has it for a length at the places of the grid.
    """
    return np.minimum(largest_length(lean, norm(lean), grid), 1.0)


def largest_length(path: Array, length: Array, grid: Grid) -> Array:
    """Upper bound of the `length` (N, R, H) of a smooth path (N, R, H, K) on every cell."""
    bound: Array = -_least_blend(corners(-length), remainder(path, grid))
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
    one, other = (_sides(side, 2) for side in _sides(value, 1))
    return [*one, *other[::-1]]


def _sides(value: Array, axis: int) -> tuple[Array, Array]:
    """Values at both sides of each cell along an axis, the second (1) or the third (2)."""
    if value.shape[axis] == 1:
        return value, value
    return (value[:, :-1], value[:, 1:]) if axis == 1 else (value[:, :, :-1], value[:, :, 1:])
