"""Signed gaps from a capsule to another capsule, a plane and a solid disc.

A capsule is every point within a radius of a center line: a rod, a housing, an arm.  Gaps are
positive where there is air and negative where the parts overlap.  A NaN anywhere in a point (a
pose that the linkage can't reach) makes that gap NaN.
"""

from dataclasses import dataclass
from functools import partial

import numpy as np

from geometry.vectors import Array, cross, dot, norm, unit

# Halvings of the center line: 2^-44 of a meter is 6e-11 mm.
HALVINGS = 44

# A squared length, or a product of two, below this stands for no length at all. [mm^2, mm^4]
NO_LENGTH = 1e-200


@dataclass(frozen=True)
class Capsule:
    """Every point within `radius` of the line from `start` to `end`; leading axes broadcast.

    Parameters
    ----------
    start, end : (..., 3) float array
        Ends of the center line; a sphere where they coincide. [mm]
    radius : (...) float array
        Half the thickness. [mm]
    """

    start: Array
    end: Array
    radius: Array | float


@dataclass(frozen=True)
class AxialView:
    """A capsule's center line in the station along, and the distance from, an axis of revolution.

    The center line is start + t (end - start), t from 0 to 1.  Its distance from the axis is kept
    as a hypotenuse from its closest point, which stays exact where the line meets the axis.
    """

    station_at_start: Array
    station_rate: Array
    closest: Array
    closest_distance: Array
    distance_rate: Array

    @classmethod
    def of(cls, capsule: Capsule, center: Array, axis: Array) -> "AxialView":
        """View from the axis through `center` along `axis`, stations counted from `center`."""
        along = unit(axis)
        rate, start = capsule.end - capsule.start, capsule.start - center
        station, station_rate = dot(start, along), dot(rate, along)
        across = start - station[..., None] * along
        across_rate = rate - station_rate[..., None] * along
        closest = -ratio(dot(across, across_rate), dot(across_rate, across_rate))
        closest_distance = norm(across + closest[..., None] * across_rate)
        return cls(station, station_rate, closest, closest_distance, norm(across_rate))

    def station(self, t: Array | float) -> Array:
        """Station along the axis [mm]."""
        return self.station_at_start + self.station_rate * t

    def distance(self, t: Array | float) -> Array:
        """Distance from the axis [mm]."""
        away = self.distance_rate * (t - self.closest)
        distance: Array = np.sqrt(away * away + self.closest_distance * self.closest_distance)
        return distance


def capsule_gap(a: Capsule, b: Capsule, apart: Array | None = None) -> Array:
    """Gap between two capsules: the distance of their center lines less both radii.

    Parameters
    ----------
    a, b : Capsule
        Center lines of any length, none included, at any angle, parallel included.
    apart : (..., 3) float array, optional
        Their `separation`, where that is known already. [mm]

    Returns
    -------
    (...) float array
        Gap; where negative, how far the radii together exceed the distance of the center lines.
        Center lines that cross give minus the sum of the radii. [mm]
    """
    gap: Array = norm(separation(a, b) if apart is None else apart) - a.radius - b.radius
    return gap


def separation(a: Capsule, b: Capsule) -> Array:
    """Shortest vector from the center line of `b` to that of `a`, (..., 3). [mm]."""
    u, v, w = a.end - a.start, b.end - b.start, b.start - a.start
    normal = cross(u, v)
    s = np.clip(ratio(dot(cross(w, v), normal), dot(normal, normal)), 0.0, 1.0)
    # Two segments are closest at the feet of the common normal or at one of their four ends.
    shortest = _from_segment(a.start + s[..., None] * u, b.start, v)
    for apart in (
        _from_segment(a.start, b.start, v),
        _from_segment(a.end, b.start, v),
        -_from_segment(b.start, a.start, u),
        -_from_segment(b.end, a.start, u),
    ):
        shorter = dot(apart, apart) < dot(shortest, shortest)
        shortest = np.where(shorter[..., None], apart, shortest)
    return shortest


def plane_gap(capsule: Capsule, point: Array, normal: Array) -> Array:
    """Gap between a capsule and the solid half-space behind a plane.

    Parameters
    ----------
    capsule : Capsule
        The moving part.
    point : (..., 3) float array
        Any point of the plane. [mm]
    normal : (..., 3) float array
        Square to the plane, of any length, pointing to the free side.

    Returns
    -------
    (...) float array
        Gap; where negative, how deep the capsule reaches behind the plane. [mm]
    """
    free = unit(normal)
    ends = np.minimum(dot(capsule.start - point, free), dot(capsule.end - point, free))
    gap: Array = ends - capsule.radius
    return gap


def disc_gap(
    capsule: Capsule,
    center: Array,
    axis: Array,
    *,
    diameter: Array | float,
    inboard: Array | float,
    outboard: Array | float,
) -> Array:
    """Gap between a capsule and a solid disc, such as a brake disc.

    Parameters
    ----------
    capsule : Capsule
        The moving part.
    center : (..., 3) float array
        Where stations along the axis count from. [mm]
    axis : (..., 3) float array
        The disc's axis of revolution, of any length, pointing outboard.
    diameter : (...) float array
        Outside diameter of the disc. [mm]
    inboard, outboard : (...) float array
        Stations of its two faces along the axis, outboard positive, inboard < outboard. [mm]

    Returns
    -------
    (...) float array
        Gap; where the center line enters the disc, minus the distance of its deepest point from
        the nearest surface, less the radius. [mm]

    Notes
    -----
    The signed distance from a convex solid is convex, so along the center line it has one valley:
    at an end that it rises from, or found by halving on the sign of its slope.
    """
    view = AxialView.of(capsule, center, axis)
    radius = np.asarray(diameter, dtype=float) / 2.0
    middle = (np.asarray(outboard, dtype=float) + inboard) / 2.0
    half_width = (np.asarray(outboard, dtype=float) - inboard) / 2.0
    shape = np.broadcast_shapes(view.station_at_start.shape, radius.shape, half_width.shape)
    slope = partial(_disc_slope, view, radius=radius, middle=middle, half_width=half_width)
    high = np.where(slope(np.zeros(shape)) < 0.0, 1.0, 0.0)
    low = np.where(slope(np.ones(shape)) > 0.0, 0.0, high)
    for _ in range(HALVINGS if (low < high).any() else 0):
        t = 0.5 * (low + high)
        falling = slope(t) < 0.0
        low, high = np.where(falling, t, low), np.where(falling, high, t)
    t = 0.5 * (low + high)
    beyond_rim = view.distance(t) - radius
    beyond_face = np.abs(view.station(t) - middle) - half_width
    outside = np.hypot(np.maximum(beyond_rim, 0.0), np.maximum(beyond_face, 0.0))
    gap: Array = outside + np.minimum(np.maximum(beyond_rim, beyond_face), 0.0) - capsule.radius
    return gap


def _disc_slope(
    view: AxialView, t: Array, *, radius: Array, middle: Array, half_width: Array
) -> Array:
    """Slope of the signed distance along the center line, up to a positive factor."""
    distance, off_middle = view.distance(t), view.station(t) - middle
    rim_rate = view.distance_rate**2 * ratio(t - view.closest, distance)
    face_rate = np.sign(off_middle) * view.station_rate
    beyond_rim, beyond_face = distance - radius, np.abs(off_middle) - half_width
    outside = np.maximum(beyond_rim, 0.0) * rim_rate + np.maximum(beyond_face, 0.0) * face_rate
    inside = np.where(beyond_rim > beyond_face, rim_rate, face_rate)
    slope: Array = np.where(np.maximum(beyond_rim, beyond_face) > 0.0, outside, inside)
    return slope


def _from_segment(point: Array, start: Array, along: Array) -> Array:
    """Shortest vector from a segment to a point."""
    offset = point - start
    t = np.clip(ratio(dot(offset, along), dot(along, along)), 0.0, 1.0)
    shortest: Array = offset - t[..., None] * along
    return shortest


def ratio(part: Array | float, whole: Array) -> Array:
    """Quotient, 0 where the whole (not negative) is nothing."""
    quotient: Array = part / np.where(whole > NO_LENGTH, whole, np.inf)
    return quotient
