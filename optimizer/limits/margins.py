"""What stops a setting: tilt and gaps over wheel travel x rack travel, thread and stud."""

from collections.abc import Callable, Iterator
from functools import cache, partial

import numpy as np

from geometry.motion import Motion
from geometry.sag import Grid, largest_sine, on_grid
from geometry.vectors import Array
from optimizer.car.adjust import Rows, Settings
from optimizer.car.evaluate import Evaluator
from optimizer.limits.followed import Follow, Needed, followed
from optimizer.limits.gaps import gaps
from optimizer.limits.strength import strength_limits
from optimizer.limits.tilts import joint_leans, joint_tilts, tilt_limit_deg
from optimizer.limits.watched import Margin, Watched

__all__ = ["Margin", "Places", "first_places", "margins"]

# Where limits are looked at first.
RACK_STEPS = 8  # from lock to lock, straight ahead in the middle
STROKE_STEPS = 2  # of travel, from ride height to either end

Places = tuple[Array, Array]


def margins(
    evaluator: Evaluator,
    settings: Settings,
    *,
    ends_only: bool = False,
    places: Places | None = None,
    follow: Follow = "undecided",
    needed: Needed = lambda _: (0.0, 0.0),
) -> list[Margin]:
    """Every limit that the case states, for each candidate.

    Whether a limit is kept is told for the whole of travel x lock: where it might be broken between
    the places that are looked at first, it is followed there, see `geometry.refinement`.  A limit
    that is not followed has the value of the worst place looked at.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    ends_only : bool
        Check only both ends of travel, at both locks and straight ahead.  What is broken there is
        broken; what is kept there may still be broken elsewhere.
    places : (T,) float array twice, optional
        Rack travel and wheel travel of the only places to check. [mm]
    follow : {"undecided", "broken", "smallest"}
        Which limits: those that decide whether a candidate fits; any that may be broken, also where
        another one is; or these and whatever may be the smallest gap or tilt margin.
    needed : callable
        The margin below which a limit counts as broken in any case, and the one above which it
        counts as kept; both are 0 unless what is fitted has yet to be taken off.

    Returns
    -------
    list of Margin
        Whether the linkage follows at all comes first.
    """
    if ends_only:
        places = _ends(evaluator)
    if places is None:
        watch, grid = partial(_watched_on, evaluator, settings), _first_grid(evaluator, settings)
        found = followed(watch, grid, follow=follow, needed=needed)
    else:
        rack, travel = places
        watched = _watched(evaluator, settings, travel, rack)
        found = [one.worst(one.value(), travel, rack) for one in watched]
    change = evaluator.rod_length_change(settings)
    drop = evaluator.corner.drop_along_stud(settings)
    found += [_everywhere(*limit) for limit in strength_limits(evaluator.case, drop, change)]
    return found


def _everywhere(kind: str, name: str, value: Array, limit: float) -> Margin:
    """Limit that holds for a setting at all places alike."""
    margin, at = value - limit, np.zeros(len(value))
    return Margin(kind, name, value, limit, np.where(np.isnan(margin), np.inf, margin), at, at)


def _ends(evaluator: Evaluator) -> Places:
    """Places at both ends of travel, at both locks and straight ahead. [mm]."""
    full, travel = evaluator.case.steering.rack_travel, evaluator.travel
    return _flat(np.unique([-full, 0.0, full]), np.unique(travel[[0, -1]]))


def first_places(evaluator: Evaluator) -> Places:
    """Rack travel and wheel travel of the places that are looked at first, (T,) each. [mm]."""
    return _flat(*_first_sides(evaluator))


def _first_sides(evaluator: Evaluator) -> Places:
    """Rack travel from lock to lock, and wheel travel from end to end. [mm]."""
    full, travel = evaluator.case.steering.rack_travel, evaluator.travel
    steps = STROKE_STEPS if travel[0] and travel[-1] else 2 * STROKE_STEPS
    strokes = [np.linspace(0.0, end, steps + 1) for end in travel[[0, -1]]]
    return np.unique(np.linspace(-full, full, RACK_STEPS + 1)), np.unique(strokes)


def _first_grid(evaluator: Evaluator, settings: Settings) -> Grid:
    racks, heights = _first_sides(evaluator)
    rows = len(settings)
    return Grid(*(np.broadcast_to(side, (rows, side.size)) for side in (heights, racks)))


def _flat(racks: Array, heights: Array) -> Places:
    """Every place of a grid, rack by rack."""
    rack, travel = np.meshgrid(racks, heights, indexing="ij")
    return rack.ravel(), travel.ravel()


def _watched_on(evaluator: Evaluator, settings: Settings, rows: Rows, grid: Grid) -> list[Watched]:
    """What is watched of some of the candidates, each on a grid of its own."""
    return _watched(evaluator.standing_as(rows), settings.rows(rows), *grid.places)


def _watched(evaluator: Evaluator, settings: Settings, travel: Array, rack: Array) -> list[Watched]:
    """Every limit of tilts and gaps at places (T,) or (M, T), the linkage's reach first."""
    motion = evaluator.motion(settings, travel, rack)
    follows = Watched("reach", "linkage", 0.0, lambda: np.where(motion.reach == 0, 1.0, -1.0))
    return [
        follows,
        *_tilts(evaluator, settings, motion, rack),
        *gaps(evaluator, settings, motion, rack),
    ]


def _tilts(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> Iterator[Watched]:
    joint = evaluator.case.joint
    limits = {
        "outer joint": tilt_limit_deg(joint.outer),
        "inner joint": tilt_limit_deg(joint.inner),
    }
    # Both tilts are found at once, so neither is asked for twice.
    tilts = cache(partial(joint_tilts, evaluator, settings, motion, rack))
    leans = cache(partial(joint_leans, evaluator, settings, motion, rack))
    for k, (name, limit) in enumerate(limits.items()):
        if limit is not None:
            yield Watched("tilt", name, limit, partial(_tilt, tilts, k), partial(_bound, leans, k))


def _tilt(tilts: Callable[[], tuple[Array, Array]], joint: int) -> Array:
    return np.degrees(tilts()[joint])


def _bound(leans: Callable[[], tuple[Array, Array]], joint: int, _: Array, grid: Grid) -> Array:
    return np.degrees(np.arcsin(largest_sine(on_grid(leans()[joint], grid), grid)))
