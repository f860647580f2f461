"""How far the gap to a rim or disc can sag between places where it is known, see `geometry.sag`.

Seen from the wheel, the outer pivot and a rim or disc stand still and the rod fans out from the
pivot.  A straight line from a fixed point is named by its slope, and at each station along the axle
its distance from the axle is a convex function of the slope: between the places it is never farther
out than a blend of the corners, so the gap to a rim is never smaller than at the corner that is
farthest out, except for the remainder of the slope.  For a disc, inside of which nothing may be, it
also counts how far a chord of the fan lies within its arc.
"""

from dataclasses import dataclass

import numpy as np

from geometry.sag import (
    Swept,
    corners,
    largest_corner,
    least_blend,
    remainder,
    sides,
    smallest_corner,
)
from geometry.vectors import Array, dot, norm

NO_FAN = 1.0  # a rod that leads inboard by less is seen along the wheel, not as a fan [mm]


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


def ring_floor(gap: Array, rod: Swept, ring: Ring) -> Array:
    """Lower bound of the gap of a rod to a rim or disc on every cell, see the top of this module.

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
    beyond: Array = np.maximum(-least_blend(nearer, missed), 0.0)
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
        one, other = sides(path, axis)
        found.append(np.maximum(*sides(norm(other - one), 3 - axis)))
    return found
