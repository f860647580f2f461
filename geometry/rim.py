"""Signed gap from a capsule to the barrel of a wheel rim.

  inboard                outboard
     :                      :
     |======================|   barrel: solid from its inside outward, about the spin axis
     .                      .
rod =======o  ball          .   radius = inside_diameter / 2
     .                      .
- - -.- - - - - - - - - - - - - spin axis, stations from `center`
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from geometry.clearance import AxialView, Capsule, ratio
from geometry.vectors import Array

# Newton steps toward an edge: quadratic, but by halves where two stationary points nearly meet.
NEWTON_STEPS = 16
SETTLED = 1e-12  # a step smaller than this share of the center line is the last

# A center line whose station changes by less than this runs square to the axis. [mm]
LEVEL = 1e-12


def rim_gap(
    capsule: Capsule,
    center: Array,
    axis: Array,
    *,
    inside_diameter: Array | float,
    inboard: Array | float,
    outboard: Array | float,
) -> Array:
    """Gap between a capsule and the inside of a rim barrel, open at both ends.

    Parameters
    ----------
    capsule : Capsule
        The rod or housing that runs into the barrel.
    center : (..., 3) float array
        Where stations along the axis count from: the wheel center. [mm]
    axis : (..., 3) float array
        The wheel's spin axis, of any length, pointing outboard.
    inside_diameter : (...) float array
        Inside diameter of the barrel. [mm]
    inboard, outboard : (...) float array
        Stations of the barrel's two edges along the axis, outboard positive,
        inboard < outboard. [mm]

    Returns
    -------
    (...) float array
        Gap; where the center line stands beyond the inside radius between the two edges, minus
        how far it does so, measured from the axis, less the capsule's radius. [mm]

    Notes
    -----
    Of the part between the edges, one of the two ends is farthest from the axis and so nearest to
    the barrel.  Past an edge the nearest point of the barrel is on the edge's circle.  There the
    flange and the tire stand outside the barrel: an end beyond the inside radius is judged by its
    distance from the plane of the edge alone, and the gap jumps from there to its negative value
    as the end passes that plane.
    """
    view = AxialView.of(capsule, center, axis)
    radius = np.asarray(inside_diameter, dtype=float) / 2.0
    near = _inside_gap(view, radius, inboard=inboard, outboard=outboard)
    for end in (0.0, 1.0):
        past = np.maximum(inboard - view.station(end), view.station(end) - outboard)
        beyond = (view.distance(end) > radius) & (past > 0.0)
        near = np.minimum(near, np.where(beyond, past, np.inf))
    stations = view.station(0.0), view.station(1.0)
    for edge, passed in (
        (inboard, np.minimum(*stations) < inboard),
        (outboard, np.maximum(*stations) > outboard),
    ):
        if not passed.any():
            continue  # between the edges no point is nearer to an edge's circle than to the barrel
        for side in (-1.0, 1.0):
            near = np.minimum(near, _edge_distance(view, radius, edge=edge, side=side))
    gap: Array = near - capsule.radius
    return gap


def barrel_gap(
    capsule: Capsule,
    center: Array,
    axis: Array,
    *,
    stations: Sequence[float],
    inside_diameters: Sequence[float],
) -> Array:
    r"""Gap between a capsule and a rim barrel whose inside was measured at several stations.

    Between two stations the barrel is taken as narrow as the narrower of the two, whatever steps
    or slants there.  The gap is then never larger than the true one, as long as no place between
    two stations is narrower than both::

        |____
             \____|_____________|     true inside, measured at the three bars
        |
        |_________|_____________|     taken for it

    Parameters
    ----------
    capsule : Capsule
        The rod or housing that runs into the barrel.
    center, axis : (..., 3) float array
        As for `rim_gap`. [mm]
    stations : sequence of K + 1 floats
        Where the inside diameter was measured along the axis, rising outboard; the first and the
        last are the barrel's edges. [mm]
    inside_diameters : sequence of K + 1 floats
        Inside diameter at each. [mm]

    Returns
    -------
    (...) float array
        Smallest `rim_gap` of the K parts. [mm]
    """
    measured = pairwise(zip(stations, inside_diameters, strict=True))
    gaps = [
        rim_gap(
            capsule,
            center,
            axis,
            inside_diameter=min(wide, narrow),
            inboard=inboard,
            outboard=outboard,
        )
        for (inboard, wide), (outboard, narrow) in measured
    ]
    least: Array = np.min(gaps, axis=0)
    return least


def _inside_gap(
    view: AxialView, radius: Array, *, inboard: Array | float, outboard: Array | float
) -> Array:
    """Least of inside radius less distance from the axis between the edges; inf if never there."""
    level = np.abs(view.station_rate) < LEVEL
    rate = np.where(level, 1.0, view.station_rate)
    one, other = ((edge - view.station_at_start) / rate for edge in (inboard, outboard))
    first = np.where(level, 0.0, np.minimum(one, other))
    last = np.where(level, 1.0, np.maximum(one, other))
    middle = view.station(0.5)
    never = np.where(level, (middle < inboard) | (middle > outboard), (last < 0.0) | (first > 1.0))
    ends = (view.distance(np.clip(t, 0.0, 1.0)) for t in (first, last))
    least: Array = np.where(never, np.inf, radius - np.maximum(*ends))
    return least


def _edge_distance(view: AxialView, radius: Array, *, edge: Array | float, side: float) -> Array:
    """Distance of an edge's circle from one half of the center line, split where nearest the axis.

    Half the slope of the squared distance is a straight line in t, less an S-shaped curve that
    bends at the closest point to the axis.  On either side of that point it bends one way only, so
    Newton's steps from the far end approach the valley nearest that end and never pass it.
    """
    turn = np.clip(view.closest, 0.0, 1.0)
    low, high = (turn, 1.0) if side > 0.0 else (0.0, turn)
    t = np.full(np.broadcast_shapes(turn.shape, radius.shape, np.shape(edge)), 0.5 + 0.5 * side)
    across, along = view.distance_rate**2, view.station_rate
    for _ in range(NEWTON_STEPS):
        inverse = ratio(1.0, view.distance(t))
        slope = across * (t - view.closest) * (1.0 - radius * inverse) + along * (
            view.station(t) - edge
        )
        bend = radius * across * (view.closest_distance * inverse) ** 2 * inverse
        curvature = across + along**2 - bend
        step = np.where(
            curvature > 0.0, t - slope / np.where(curvature > 0.0, curvature, 1.0), turn
        )
        before, t = t, np.where(side * slope > 0.0, np.clip(step, low, high), t)
        if not (np.abs(t - before) > SETTLED).any():
            break
    distance: Array = np.hypot(view.distance(t) - radius, view.station(t) - edge)
    return distance
