"""What stops a setting: tilt and gaps over wheel travel x rack travel, thread and stud."""

from collections.abc import Callable, Iterator
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from geometry.motion import Motion
from geometry.sag import Grid, largest_sine, on_grid
from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings
from optimizer.limits.also import also_margins
from optimizer.limits.followed import Follow, Needed, followed
from optimizer.limits.gaps import gaps
from optimizer.limits.lock_up import lines, lock_ups
from optimizer.limits.near import with_near_tubes
from optimizer.limits.strength import strength_limits
from optimizer.limits.tilts import joint_leans, joint_tilts, outer_tilt_limit_deg, tilt_limit_deg
from optimizer.limits.watched import Margin, Part, Watched

__all__ = [
    "Margin",
    "Places",
    "end_places",
    "first_places",
    "first_sides",
    "margins",
    "spare",
    "strength_margins",
    "watched_at",
]

# Where limits are looked at first: in so many steps, or more where they would be longer.
LOCK_STEPS = 4  # of the rack, from straight ahead to either lock
STROKE_STEPS = 2  # of travel, from ride height to either end
LONGEST_LOCK_STEP, LONGEST_STROKE_STEP = 20.0, 30.0  # short beside a steering arm, and an arm [mm]

AROUND = 30.0  # how far from a pivot tubes are told of, when there are very many [mm]

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
    follow : {"undecided", "named", "broken", "smallest"}
        Which limits: those that decide whether a candidate fits; those that decide which limits
        are broken by any of the candidates (how far the rack goes is not told then); any that may
        be broken, also where another one is; or these and whatever may be the smallest gap or tilt
        margin.
    needed : callable
        The margin below which a limit counts as broken in any case, and the one above which it
        counts as kept; both are 0 unless what is fitted has yet to be taken off.

    Returns
    -------
    list of Margin
        Whether the linkage follows at all comes first.
    """
    if ends_only:
        places = end_places(evaluator)
    if places is None:
        grid = _first_grid(evaluator, settings)
        near = with_near_tubes(evaluator, settings, grid.places, grid, needed)
        watch = partial(_watched_on, near, settings)
        found = followed(watch, grid, follow=follow, needed=needed)
        found = lock_ups(evaluator, settings, found, follow=follow)
        found += also_margins(evaluator, settings)
    else:
        rack, travel = places
        near = with_near_tubes(evaluator, settings, (travel, rack), needed=needed)
        watched = watched_at(near, settings, places)
        found = [one.worst(one.value(), travel, rack) for one in watched]
    return found + strength_margins(evaluator, settings)


def spare(
    evaluator: Evaluator, settings: Settings, places: Places, *, obstacles: bool = True
) -> tuple[NDArray[np.bool_], Array]:
    """Whether the linkage follows at all of the places, and what each limit leaves at each of them.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    places : (T,) float array twice
        Rack travel and wheel travel. [mm]
    obstacles : bool
        Whether gaps count.

    Returns
    -------
    (M,) bool array, (M, N) float array
        The second is smooth in a moved pivot, which the worst of all places is not; infinite where
        a limit says nothing. [mm, deg or -]
    """
    follows = np.ones(len(settings), dtype=bool)
    left = [one.margin[:, None] for one in strength_margins(evaluator, settings)]
    rack, travel = places
    near = with_near_tubes(evaluator, settings, (travel, rack), needed=lambda _: (0.0, AROUND))
    for one in watched_at(near, settings, places):
        if one.kind == "reach":
            follows &= (one.value() > 0.0).all(axis=1)
        elif obstacles or one.kind != "gap":
            left.append(np.nan_to_num(one.margin(one.value()), nan=np.inf, posinf=np.inf))
    return follows, np.hstack([np.empty((len(settings), 0)), *left])


def strength_margins(evaluator: Evaluator, settings: Settings) -> list[Margin]:
    """Limits of thread and stud."""
    change = evaluator.rod_length_change(settings)
    drop = evaluator.corner.drop_along_stud(settings)
    return [_everywhere(*limit) for limit in strength_limits(evaluator.case, drop, change)]


def _everywhere(kind: str, name: str, value: Array, limit: float) -> Margin:
    """Limit that holds for a setting at all places alike."""
    margin, at = value - limit, np.zeros(len(value))
    return Margin(kind, name, value, limit, np.where(np.isnan(margin), np.inf, margin), at, at)


def end_places(evaluator: Evaluator) -> Places:
    """Places at both ends of travel, at both locks and straight ahead. [mm]."""
    full, travel = evaluator.case.steering.rack_travel, evaluator.travel
    return _flat(np.unique([-full, 0.0, full]), np.unique(travel[[0, -1]]))


def first_places(evaluator: Evaluator) -> Places:
    """Rack travel and wheel travel of the places that are looked at first, (T,) each. [mm]."""
    return _flat(*first_sides(evaluator))


def first_sides(evaluator: Evaluator) -> Places:
    """Rack travel from lock to lock, and wheel travel from end to end. [mm]."""
    full, travel = evaluator.case.steering.rack_travel, evaluator.travel
    strokes = STROKE_STEPS if travel[0] and travel[-1] else 2 * STROKE_STEPS
    return (
        _stepped(np.array([-full, full]), LOCK_STEPS, LONGEST_LOCK_STEP),
        _stepped(travel[[0, -1]], strokes, LONGEST_STROKE_STEP),
    )


def _stepped(ends: Array, steps: int, longest: float) -> Array:
    """Places from 0 to either end, in so many steps or more."""
    counts = np.maximum(steps, np.ceil(np.abs(ends) / longest)).astype(int)
    return np.unique(
        np.concatenate([np.linspace(0.0, end, n + 1) for end, n in zip(ends, counts, strict=True)])
    )


def _first_grid(evaluator: Evaluator, settings: Settings) -> Grid:
    racks, heights = first_sides(evaluator)
    rows = len(settings)
    return Grid(*(np.broadcast_to(side, (rows, side.size)) for side in (heights, racks)))


def _flat(racks: Array, heights: Array) -> Places:
    """Every place of a grid, rack by rack."""
    rack, travel = np.meshgrid(racks, heights, indexing="ij")
    return rack.ravel(), travel.ravel()


def _watched_on(
    evaluator: Evaluator, settings: Settings, rows: Rows, grid: Grid
) -> Iterator[Watched]:
    """What is watched of some of the candidates, each on a grid of its own."""
    evaluator, settings, (travel, rack) = (
        evaluator.standing_as(rows),
        settings.rows(rows),
        grid.places,
    )
    motion = evaluator.motion(settings, travel, rack)
    yield from _watched(evaluator, settings, motion, rack)
    yield from lines(evaluator, settings, motion, rack)


def watched_at(evaluator: Evaluator, settings: Settings, places: Places) -> list[Watched]:
    """Every limit of tilts and gaps at places (T,), the linkage's reach first."""
    rack, travel = places
    return [*_watched(evaluator, settings, evaluator.motion(settings, travel, rack), rack)]


def _watched(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> Iterator[Watched]:
    """Every limit of tilts and gaps at poses (M, T), the linkage's reach first."""
    yield Watched("reach", "linkage", 0.0, lambda: np.where(motion.reach == 0, 1.0, -1.0))
    yield from _tilts(evaluator, settings, motion, rack)
    yield from gaps(evaluator, settings, motion, rack)


def _tilts(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> Iterator[Watched]:
    joint = evaluator.case.joint
    limits: dict[Part, float | None] = {
        "outer joint": outer_tilt_limit_deg(joint),
        "inner joint": tilt_limit_deg(joint.inner),
    }
    # Both tilts are found at once, so neither is asked for twice.
    tilts = cache(partial(joint_tilts, evaluator, settings, motion, rack))
    leans = cache(partial(joint_leans, evaluator, settings, motion, rack))
    for k, (name, limit) in enumerate(limits.items()):
        if limit is not None:
            value, bound = partial(_tilt, tilts, k), partial(_bound, leans, k)
            yield Watched("tilt", name, limit, value, bound, part=name)


def _tilt(tilts: Callable[[], tuple[Array, Array]], joint: int) -> Array:
    return np.degrees(tilts()[joint])


def _bound(leans: Callable[[], tuple[Array, Array]], joint: int, _: Array, grid: Grid) -> Array:
    return np.degrees(np.arcsin(largest_sine(on_grid(leans()[joint], grid), grid)))


def clearance(found: list[Margin], rows: int) -> Array:
    """Smallest gap of each of the rows, (M,); infinite where no obstacle is stated. [mm]."""
    gaps = [margin.value for margin in found if margin.kind == "gap"]
    return np.min(gaps, axis=0) if gaps else np.full(rows, np.inf)


def unsure(kept: float, wanted: float) -> Margin:
    """The limit that a setting breaks whose limits are kept in too few of the possible cars."""
    share, short, at = np.array([kept]), np.array([kept - wanted]), np.zeros(1)
    return Margin("chance", "every limit", share, wanted, short, at, at)


def violation(found: list[Margin]) -> Array:
    """How far each row exceeds its worst limit, (M,), 0 where it keeps all."""
    worst: Array = np.maximum(0.0, -np.min([margin.margin for margin in found], axis=0))
    return worst


def most_telling(found: list[Margin], worst: Array) -> Places:
    """Rack travel and wheel travel at which most of the broken rows break their worst limit."""
    broken = np.flatnonzero(worst > 0.0)
    limit = np.argmin([margin.margin for margin in found], axis=0)[broken]
    travel = np.array([margin.travel for margin in found])[limit, broken]
    rack = np.array([margin.rack_travel for margin in found])[limit, broken]
    places, counts = np.unique([rack, travel], axis=1, return_counts=True)
    most = places[:, [np.argmax(counts)]]
    return most[0], most[1]
