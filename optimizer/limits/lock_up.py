"""Where a rod and the arm that it moves come into one line: the steering jams, or nearly does.

Whether the linkage follows everywhere is not told by a few places: it may jam between them and go
on beyond, where it could only be put together anew.  So rod and arm are watched between them too,
see `optimizer.limits.one_line`.
"""

from collections.abc import Callable, Sequence
from functools import cache, partial

import numpy as np

from geometry.linkages import Axle
from geometry.linkages.axle import MIRROR
from geometry.motion import Motion, Reach
from geometry.side_effects import axis_point
from geometry.transmission import rod_arm_cosine
from geometry.vectors import Array, norm
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings
from optimizer.limits.followed import Follow
from optimizer.limits.one_line import clear_deg, least_clear_deg
from optimizer.limits.watched import Margin, Watched
from optimizer.models.limits import TOLD_TO

CROSS_ROD = "cross rod"
HALVINGS = 12  # of the way to where the steering jams
SCANNED = 13  # wheel travels at which it is sought; in between it is less by hundredths of a mm

Cosines = dict[str, Array]
Places = tuple[Array, Array]  # wheel travel and rack travel [mm]


def rod_arm_cosines(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> Cosines:
    """Cosines of the angles between each rod and the arms that it joins, by the rod's name.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    motion : Motion
        Their poses, (M, T).
    rack : (T,) or (M, T) float array
        Rack travel of each, to the left of the car positive. [mm]

    Returns
    -------
    dict of (M, T, K) float array
        One of the rod and its steering arm; on an axle two more of the cross rod.
    """
    linkage, name = evaluator.linkage(settings), evaluator.case.words.short_rod
    outer, inner = evaluator.rod_ends(settings, motion, rack)
    point, axis = axis_point(linkage, motion), motion.steering_axis
    found = {name: rod_arm_cosine(point, axis, outer, inner, norm(outer - inner))[..., None]}
    other = motion.other_wheel
    if isinstance(linkage, Axle) and other is not None:
        end, pin = linkage.cross_rod_end, linkage.kingpin_lower
        near, far = motion.moved(end), other.moved(MIRROR * end)
        levers = (
            (point, axis, near, far),
            (other.moved(MIRROR * pin), other.steering_axis, far, near),
        )
        joined = [rod_arm_cosine(*lever, norm(far - near)) for lever in levers]
        found[CROSS_ROD] = np.stack(joined, axis=-1)
    return found


def lines(evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array) -> list[Watched]:
    """Angles [deg] by which rods are clear of one line with their arms, as limits to be watched.

    See `rod_arm_cosines` and `optimizer.limits.one_line`.
    """
    cosines = cache(partial(rod_arm_cosines, evaluator, settings, motion, rack))
    names = [evaluator.case.words.short_rod, *([CROSS_ROD] if evaluator.corner.on_beam else [])]
    of_each = [partial(_of, cosines, name) for name in names]
    return [
        Watched("line", name, 0.0, partial(clear_deg, of_it), partial(least_clear_deg, of_it))
        for name, of_it in zip(names, of_each, strict=True)
    ]


def _of(cosines: Callable[[], Cosines], name: str) -> Array:
    return cosines()[name]


def lock_ups(
    evaluator: Evaluator, settings: Settings, found: Sequence[Margin], *, follow: Follow
) -> list[Margin]:
    """Limits with what was found of lines put as how far the rack goes before the steering jams.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    found : sequence of Margin
        Limits over the whole of travel x lock, the linkage's reach first, lines among them.
    follow
        As for `optimizer.limits.margins.margins`; "undecided" leaves jams with the linkage's reach.

    Returns
    -------
    list of Margin
        Without lines; instead one "lock" for each rod, in mm of rack travel, where there is a lock.
    """
    reach, full = found[0], evaluator.case.steering.rack_travel
    touching = [one for one in found if one.kind == "line"]
    locks = [_free(one, full) for one in touching]
    for k, line in enumerate(touching):
        rows = np.flatnonzero((line.margin < 0.0) & (reach.margin > 0.0))
        places = line.travel[rows], line.rack_travel[rows]
        if full:
            locks[k] = _jammed(locks[k], rows, places)
        else:
            lost = np.full(rows.size, -1.0)
            reach = reach.with_rows(rows, lost, lost, *places)
    if full and follow != "undecided":
        halvings = 0 if follow == "named" and len(locks) == 1 else HALVINGS
        reach, locks = _with_causes(evaluator, settings, reach, locks, halvings)
    return [reach, *(locks if full else ()), *(one for one in found[1:] if one.kind != "line")]


def _free(line: Margin, full: float) -> Margin:
    """A lock that is reached by all candidates."""
    whole = np.full(line.value.shape, full)
    at = np.zeros(line.value.shape)
    return Margin("lock", line.name, whole, full, np.full(whole.shape, np.inf), at, at)


def _jammed(lock: Margin, rows: Rows, places: Places) -> Margin:
    """The lock with candidates that jam at places, wheel travel and rack travel (K,). [mm]."""
    reached = np.abs(places[1])
    short = np.minimum(reached - lock.limit, -TOLD_TO)
    return lock.with_rows(rows, reached, short, *places)


def _with_causes(
    evaluator: Evaluator, settings: Settings, reach: Margin, locks: list[Margin], halvings: int
) -> tuple[Margin, list[Margin]]:
    """Name the rod and the rack travel at which candidates stop that the linkage can't follow."""
    rows = np.flatnonzero((reach.margin < 0.0) & (reach.rack_travel != 0.0))
    if not rows.size:
        return reach, locks
    one, some = evaluator.standing_as(rows), settings.rows(rows)
    lost = reach.travel[rows], reach.rack_travel[rows]
    travel, rack = _soonest_jam(one, some, lost, halvings)
    by_rod = np.isfinite(rack)
    places = travel[:, None], np.nan_to_num(rack)[:, None]
    cosines = rod_arm_cosines(one, some, one.motion(some, *places), places[1])
    nearest = np.argmax([np.abs(cosines[lock.name]).max(axis=(1, 2)) for lock in locks], axis=0)
    for k, lock in enumerate(locks):
        of_it = by_rod & (nearest == k)
        locks[k] = _jammed(lock, rows[of_it], (travel[of_it], rack[of_it]))
    follows = np.ones(np.count_nonzero(by_rod))
    reach = reach.with_rows(rows[by_rod], follows, follows, 0.0 * follows, 0.0 * follows)
    return reach, locks


def _soonest_jam(evaluator: Evaluator, settings: Settings, lost: Places, halvings: int) -> Places:
    """Wheel and rack travel (M,) where a rod lets the rack go least far; NaN where none jams. [mm]

    `lost` are places at which the linkage did not follow; looked at, on the way to either lock and
    as far as there, are wheel travels from end to end.
    """
    lost_travel, lost_rack = (place[:, None] for place in lost)
    scanned = np.linspace(evaluator.travel[0], evaluator.travel[-1], SCANNED)
    heights = np.hstack([lost_travel, np.tile(scanned, (len(settings), 1))])
    full = np.full(heights.shape, evaluator.case.steering.rack_travel)
    travel, far = np.tile(heights, 3), np.hstack([-full, full, lost_rack + 0.0 * full])
    near = np.zeros(travel.shape)
    start, end = (evaluator.motion(settings, travel, rack).reach for rack in (near, far))
    jams = (start == Reach.REACHED) & (end != Reach.REACHED) & (end != Reach.ARMS_END)
    for _ in range(halvings):
        soonest = np.where(jams, np.abs(far), np.inf).min(axis=1, keepdims=True)
        sought = jams & (np.abs(near) < soonest)  # others jam later than one that is known
        middle = np.where(sought, 0.5 * (near + far), 0.0)
        motion = evaluator.motion(settings, np.where(sought, travel, 0.0), middle)
        goes = motion.reach == Reach.REACHED
        near, far = np.where(sought & goes, middle, near), np.where(sought & ~goes, middle, far)
    free = np.where(jams, np.abs(near), np.inf)
    rows, at = np.arange(len(settings)), free.argmin(axis=1)
    return travel[rows, at], np.where(jams, near, np.nan)[rows, at]
