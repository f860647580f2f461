"""Poses where no closed form exists, by Newton from the measured pose; uprights on links."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from geometry.linkages.closure import Closure
from geometry.linkages.conditions import Pose
from geometry.newton import jumped_pose, walked_pose
from geometry.poses import Motion, Reach
from geometry.vectors import Array, turned
from geometry.virtual_axis import axis_of_rates

CLOSURE_ATOL = 1e-9  # no pose is given that leaves more of a link or a height open [mm]
BLOCK = 2500  # poses at a time, so that the working arrays stay in cache

Block = tuple[NDArray[np.intp], Closure]
Closed = tuple[NDArray[np.intp], Pose, Array]


def link_motion(closure: Closure) -> Motion:
    """Poses of an upright that close, in the assembly that the measured pose belongs to.

    Parameters
    ----------
    closure : Closure
        With any leading axes; each pose is solved by itself.

    Returns
    -------
    Motion
        Poses that leave at most `CLOSURE_ATOL` open.  NaN with a `Reach` code where the way from
        the measured pose ends: `ARMS_END` if the links end it also when nothing steers them.
    """
    poses, reach = nowhere(closure)
    direction = np.full(poses.center.shape, np.nan)
    for rows, pose, jacobian in closed_poses(closure, reach):
        poses.put(rows, pose)
        direction[rows] = axis_of_rates(pose.center, jacobian[:, :5])[1]
    measured = closure.measured.center
    poses = poses.reshaped(measured.shape[:-1])
    return body_motion(poses, measured, direction.reshape(measured.shape), reach)


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


def closed_poses(closure: Closure, reach: NDArray[np.int8]) -> Iterator[Closed]:
    """Solve poses that `reach` doesn't call reached, some at a time, and settle their codes.

    Yields their numbers, the poses that close, and the Jacobian there.
    """
    for way in (jumped_pose, walked_pose):  # most poses are one jump away
        for rows, part in _blocks(closure, np.flatnonzero(reach != Reach.REACHED)):
            pose, sound = way(part, part.measured)
            residual, jacobian = part.rows(pose)
            good = sound & (np.abs(residual).max(axis=-1) <= CLOSURE_ATOL)
            reach[rows[good]] = Reach.REACHED
            yield rows[good], pose.taken(good), jacobian[good]
    for rows, part in _blocks(closure, np.flatnonzero(reach != Reach.REACHED)):
        joined = walked_pose(part.unsteered(), part.measured)[1]
        reach[rows[~joined]] = Reach.ARMS_END


def _blocks(closure: Closure, rows: NDArray[np.intp]) -> Iterator[Block]:
    """Some of the poses, counted in order, by and by: their numbers and their closures."""
    shape = closure.measured.center.shape[:-1]
    for start in range(0, rows.size, BLOCK):
        block = rows[start : start + BLOCK]
        yield block, closure.taken(np.unravel_index(block, shape) if shape else (None,))
