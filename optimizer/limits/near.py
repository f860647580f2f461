"""Tubes that may matter, told from all others by boxes before any gap is found.

A box about each piece of a moving part, over all candidates and the whole of travel x lock, is no
nearer to a box about a piece of a tube than those parts ever come.  Where that is farther than
the tubes that are surely nearest, and than any gap that is wanted, the tube can neither be touched
nor be named as the nearest, nor is it followed in possible cars.
"""

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from geometry.sag import Grid
from geometry.vectors import Array, norm
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.limits.followed import Needed
from optimizer.limits.gaps import BarEncounter, MovingPart, moving_parts
from optimizer.limits.watched import Watched
from optimizer.models.obstacles import Tube

MOST_GAPS = 24  # followed in possible cars, each where any other is worst: it counts squared
FEW = 2 * MOST_GAPS  # tubes that are too few for boxes to save work
SHARES = np.linspace(0.0, 1.0, 9)[:, None]  # where center lines are cut into pieces

Boxes = tuple[Array, Array]  # least and largest coordinates, (..., 3) each [mm]


def with_near_tubes(
    evaluator: Evaluator,
    settings: Settings,
    places: tuple[Array, Array],
    grid: Grid | None = None,
    needed: Needed = lambda _: (0.0, 0.0),
) -> Evaluator:
    """Leave out tubes that can't matter to any of M candidates.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    places : (T,) or (M, T) float array twice
        Wheel travel and rack travel. [mm]
    grid : Grid, optional
        Of which these are the places, if all that lies between them counts as well.
    needed : callable
        As for `optimizer.limits.margins.margins`.

    Returns
    -------
    Evaluator
        The same where it has few tubes; else every tube that is left out stays farther away than
        `MOST_GAPS` others do, and leaves more than any candidate needs.
    """
    case = evaluator.case
    tubes = [one for one in case.obstacles if isinstance(one, Tube)]
    if len(tubes) <= FEW:
        return evaluator
    travel, rack = places
    motion = evaluator.motion(settings, travel, rack)
    parts = list(moving_parts(evaluator, settings, motion, rack))
    least = np.min([_least_left(part, tubes, grid, needed) for part in parts], axis=0)
    first = [tubes[k] for k in np.argsort(least, kind="stable")[:MOST_GAPS]]
    reach = max(0.0, max(_farthest(parts, tube) for tube in first))
    left_out = {tubes[k].name for k in np.flatnonzero(least > reach)}
    kept = tuple(one for one in case.obstacles if one.name not in left_out)
    return replace(evaluator, case=case.model_copy(update={"obstacles": kept}))


def _least_left(
    part: MovingPart, tubes: Sequence[Tube], grid: Grid | None, needed: Needed
) -> Array:
    """Least that each tube may leave beyond what the candidates need, (N,). [mm]."""
    start, end = (
        np.array(points) * part.around.mirror
        for points in zip(*((one.start, one.end) for one in tubes), strict=True)
    )
    carriers = np.array([one.fixed_to for one in tubes])
    apart = np.empty(len(tubes))
    for carrier in np.unique(carriers).tolist():
        own, seen = np.flatnonzero(carriers == carrier), part.seen(carrier)
        along = _along(seen.start, seen.end).reshape(-1, len(SHARES), 3)
        still = _along(start[own], end[own])
        swept = _boxes(np.fmin.reduce(along), np.fmax.reduce(along))
        apart[own] = _apart(swept, _boxes(still, still))
        if grid is not None:
            apart[own] -= np.fmax.reduce(part.swept(carrier, grid).missed.sum(axis=0), axis=None)
    wanted = np.array([0.5 * one.diameter + one.gap for one in tubes])
    any_gap = Watched("gap", part.name, 0.0, BarEncounter(part, tubes[0]).gap, part=part.part)
    wanted += part.capsule.radius + needed(any_gap)[1]
    left: Array = np.nan_to_num(apart, nan=np.inf) - wanted
    return left


def _farthest(parts: Sequence[MovingPart], tube: Tube) -> float:
    """Smallest gap that a tube leaves to both parts, of the candidate where it is largest. [mm]."""
    gaps = [np.fmin.reduce(BarEncounter(part, tube).gap(), axis=1) for part in parts]
    return float(np.nan_to_num(np.fmax.reduce(np.fmin.reduce(gaps))))


def _along(start: Array, end: Array) -> Array:
    """Ends of the pieces of center lines, (..., 3) to (..., P + 1, 3). [mm]."""
    return start[..., None, :] + SHARES * (end - start)[..., None, :]


def _boxes(least: Array, most: Array) -> Boxes:
    """Box about each piece, (..., P, 3), of coordinates of the pieces' ends."""
    return (
        np.minimum(least[..., :-1, :], least[..., 1:, :]),
        np.maximum(most[..., :-1, :], most[..., 1:, :]),
    )


def _apart(swept: Boxes, still: Boxes) -> Array:
    """Distance of the boxes (P, 3) from those of each tube, (N, P, 3) to (N,). [mm]."""
    (low, high), (least, most) = swept, (side[:, :, None] for side in still)
    off = np.maximum(np.maximum(low - most, least - high), 0.0)
    nearest: Array = norm(off).min(axis=(1, 2))
    return nearest
