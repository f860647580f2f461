"""Poses where no closed form exists, by Newton from the measured pose; uprights on links."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from geometry.assembly import Side, Way, stays_clear
from geometry.linkages import LinkSet
from geometry.linkages.closure import Closure, rod_closure
from geometry.linkages.conditions import Pose
from geometry.newton import Jumped, jumped_pose, walked_pose
from geometry.poses import Motion, Reach, Rod
from geometry.poses import Rows as Index
from geometry.vectors import Array, turned
from geometry.virtual_axis import axis_of_rates

CLOSURE_ATOL = 1e-9  # no pose is given that leaves more of a link or a height open [mm]
ONE_IN = 16  # poses that are alike go a long way by themselves
SHORT_OF_REACH = 1e-3  # a walk whose jumps get shorter than this share of it is left to others
BLOCK = 2500  # poses at a time, so that the working arrays stay in cache

Rows = NDArray[np.intp]
Flags = NDArray[np.bool_]
Closed = tuple[Rows, Pose, Array]
Meant = Callable[[Index, Pose, Array], Flags]


@dataclass(frozen=True)
class Attempt:
    """A way to poses, and what must hold of the ones found there, given their Jacobian.

    Where it is `long`, few go it, and the others jump from the poses found for those like them.
    """

    poses: Callable[[Index, Closure], Jumped]
    meant: Meant | None = None
    long: bool = False


JUMP = Attempt(lambda _, closure: jumped_pose(closure, closure.measured))
WALK = Attempt(lambda _, closure: walked_pose(closure, closure.measured), long=True)


def link_motion(closure: Closure, attempts: Sequence[Attempt] = (JUMP, WALK)) -> Motion:
    """Poses of an upright that close, in the assembly that the measured pose belongs to.

    Parameters
    ----------
    closure : Closure
        With any leading axes; each pose is solved by itself.
    attempts : sequence of Attempt
        How to get there; what one doesn't reach is left to the next.

    Returns
    -------
    Motion
        Poses that leave at most `CLOSURE_ATOL` open.  NaN with a `Reach` code where the way from
        the measured pose ends: `ARMS_END` if the links end it also when nothing steers them,
        `JAMMED` if something closes there that the linkage can't be led to.
    """
    poses, reach = nowhere(closure)
    direction = np.full(poses.center.shape, np.nan)
    for rows, pose, jacobian in closed_poses(closure, reach, attempts):
        poses.put(rows, pose)
        direction[rows] = axis_of_rates(pose.center, jacobian[:, :5])[1]
    measured = closure.measured.center
    poses = poses.reshaped(measured.shape[:-1])
    return body_motion(poses, measured, direction.reshape(measured.shape), reach)


def steered_link_motion(links: LinkSet, travel: Array, rod: Rod) -> Motion:
    """Poses of an upright on links and a tie rod; see `geometry.motion.rod_motion`."""
    side = Side.measured(links, rod)
    closure = rod_closure(links, travel, rod.inner, rod.outer, rod.length)
    closure = closure.over(np.broadcast_shapes(closure.measured.center.shape[:-1], rod.shape))
    centers = np.atleast_2d(closure.measured.center)

    def meant(rows: Index, pose: Pose, jacobian: Array) -> Flags:
        point, axis = axis_of_rates(pose.center, jacobian[:, :5])
        some = rod.taken(rows, centers.shape[:-1])
        outer = pose.center + turned(pose.rotation, some.outer - centers[rows])
        same = side.taken(rows, centers.shape[:-1]).same(Side.of(point, axis, outer, some.inner))
        return same & stays_clear(point, axis, outer, some)

    return link_motion(closure, led_if_need_be(partial(Way.of, links, travel, rod), meant))


def led_if_need_be(way: Callable[[], Way], meant: Meant) -> Sequence[Attempt]:
    """Go straight, and the linkage's own way where that does not come to what is surely meant."""
    walk = Attempt(lambda _, part: walked_pose(part, part.measured, SHORT_OF_REACH), meant, True)
    known = cache(way)
    return replace(JUMP, meant=meant), walk, Attempt(lambda rows, _: known().led(rows))


def body_motion(poses: Pose, measured: Array, axis: Array, reach: NDArray[np.int8]) -> Motion:
    """Motion of a body whose center (..., 3) was `measured` there, with its steering axis. [mm]"""
    translation = poses.center - turned(poses.rotation, measured)
    return Motion(poses.rotation, translation, axis, reach.reshape(translation.shape[:-1]))


def nowhere(closure: Closure) -> tuple[Pose, NDArray[np.int8]]:
    """Poses, counted in order, that are all NaN, and their `Reach` codes, to be filled in."""
    *shape, pins = closure.measured.turns.shape
    count = int(np.prod(shape))
    parts = (np.full((count, *own), np.nan) for own in ((3, 3), (3,), (pins,)))
    return Pose(*parts), np.full(count, Reach.ROD_ENDS, np.int8)


def closed_poses(
    closure: Closure, reach: NDArray[np.int8], attempts: Sequence[Attempt]
) -> Iterator[Closed]:
    """Solve poses that `reach` doesn't call reached, some at a time, and settle their codes.

    Yields their numbers, the poses that close, and the Jacobian there.
    """
    search = _Search(closure, reach, nowhere(closure)[0])
    for attempt in attempts:  # most poses are one jump away
        rows = search.left()
        if attempt.long and rows.size:
            for axis in range(len(search.shape)):
                yield from search.tried(*search.beside(axis, attempt.meant))
            some = search.some_left()
            yield from search.tried(attempt, some)
            yield from search.tried(*search.beside(search.alike, attempt.meant))
            rows = np.setdiff1d(search.left(), some)
        yield from search.tried(attempt, rows)
    for rows, _, part in _blocks(closure, np.flatnonzero(reach == Reach.ROD_ENDS)):
        joined = walked_pose(part.unsteered(), part.measured)[1]
        reach[rows[~joined]] = Reach.ARMS_END


@dataclass(frozen=True)
class _Search:
    """Poses found so far, counted in order; along the first axis longer than 1 they are alike."""

    closure: Closure
    reach: NDArray[np.int8]
    found: Pose

    def tried(self, attempt: Attempt, rows: Rows) -> Iterator[Closed]:
        """Go one way to some of the poses; see `closed_poses`."""
        for some, index, part in _blocks(self.closure, rows):
            pose, sound = attempt.poses(index, part)
            residual, jacobian = part.rows(pose)
            good = sound & (np.abs(residual).max(axis=-1) <= CLOSURE_ATOL)
            if attempt.meant is not None and good.any():
                self.reach[some[good]] = Reach.JAMMED
                good &= attempt.meant(index, pose, jacobian)
            self.reach[some[good]] = Reach.REACHED
            self.found.put(some[good], pose.taken(good))
            yield some[good], pose.taken(good), jacobian[good]

    def left(self) -> Rows:
        """Poses not reached."""
        return np.flatnonzero(self.reach != Reach.REACHED)

    def some_left(self) -> Rows:
        """The first of those that are alike and not reached, and every so many after it."""
        left = self.reach.reshape(self.shape) != Reach.REACHED
        return np.flatnonzero(left & (left.cumsum(axis=self.alike) % ONE_IN == 1))

    def beside(self, axis: int, meant: Meant | None) -> tuple[Attempt, Rows]:
        """Jump from the nearest pose along an axis that is reached; and to which that can be."""
        numbers = np.moveaxis(np.arange(self.reach.size).reshape(self.shape), axis, 0)
        reached = self.reach[numbers] == Reach.REACHED
        many = len(reached)
        place = np.arange(many).reshape(-1, *[1] * (reached.ndim - 1))
        before = np.maximum.accumulate(np.where(reached, place, -2 * many), axis=0)
        behind = np.where(reached, place, 4 * many)
        behind = np.minimum.accumulate(behind[::-1], axis=0)[::-1]
        nearest = np.where(place - before <= behind - place, before, behind)
        rows = ~reached & reached.any(axis=0)
        start = np.zeros(self.reach.size, dtype=np.intp)
        start[numbers[rows]] = np.take_along_axis(numbers, nearest % many, axis=0)[rows]

        def jump(index: Index, part: Closure) -> Jumped:
            return jumped_pose(
                part, self.found.taken(start[np.ravel_multi_index(index, self.shape)])
            )

        return Attempt(jump, meant), np.sort(numbers[rows])

    @property
    def shape(self) -> tuple[int, ...]:
        """Leading axes of the poses, at least one."""
        return self.closure.measured.center.shape[:-1] or (1,)

    @property
    def alike(self) -> int:
        """The axis along which poses are alike: the first longer than 1, or the last."""
        return next((k for k, many in enumerate(self.shape) if many > 1), len(self.shape) - 1)


def _blocks(closure: Closure, rows: Rows) -> Iterator[tuple[Rows, Index, Closure]]:
    """Some of the poses, counted in order, by and by: their numbers, places and closures."""
    if rows.size:
        closure = closure.over(closure.measured.center.shape[:-1] or (1,))
    for start in range(0, rows.size, BLOCK):
        block = rows[start : start + BLOCK]
        index = np.unravel_index(block, closure.measured.center.shape[:-1])
        yield block, index, closure.taken(index)
