"""Poses of an upright on links, where no closed form exists: Newton from the measured pose."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from geometry.linkages.closure import Closure
from geometry.newton import jumped_pose, walked_pose
from geometry.poses import Motion, Reach
from geometry.vectors import turned
from geometry.virtual_axis import axis_of_rates

CLOSURE_ATOL = 1e-9  # no pose is given that leaves more of a link or a height open [mm]
BLOCK = 1000  # poses at a time, so that the working arrays stay in cache

Block = tuple[NDArray[np.intp], Closure]


def link_motion(closure: Closure) -> Motion:
    """Poses that close, in the assembly that the measured pose belongs to.

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
    shape = closure.center.shape[:-1]
    count = int(np.prod(shape))
    rotation, translation = np.full((count, 3, 3), np.nan), np.full((count, 3), np.nan)
    direction, reach = np.full((count, 3), np.nan), np.full(count, Reach.ROD_ENDS, np.int8)
    for way in (jumped_pose, walked_pose):  # most poses are one jump away
        for rows, part in _blocks(closure, np.flatnonzero(reach != Reach.REACHED)):
            pose, sound = way(part, part.measured())
            residual, jacobian = part.rows(pose)
            good = sound & (np.abs(residual).max(axis=-1) <= CLOSURE_ATOL)
            axis = axis_of_rates(pose.center, jacobian[:, :5])[1]
            moved = pose.center - turned(pose.rotation, part.center)
            rows = rows[good]
            rotation[rows], translation[rows] = pose.rotation[good], moved[good]
            direction[rows], reach[rows] = axis[good], Reach.REACHED
    for rows, part in _blocks(closure, np.flatnonzero(reach != Reach.REACHED)):
        joined = walked_pose(part.unsteered(), part.measured())[1]
        reach[rows[~joined]] = Reach.ARMS_END
    return Motion(
        rotation.reshape(*shape, 3, 3),
        translation.reshape(*shape, 3),
        direction.reshape(*shape, 3),
        reach.reshape(shape),
    )


def _blocks(closure: Closure, rows: NDArray[np.intp]) -> Iterator[Block]:
    """Some of the poses, counted in order, by and by: their numbers and their closures."""
    shape = closure.center.shape[:-1]
    for start in range(0, rows.size, BLOCK):
        block = rows[start : start + BLOCK]
        yield block, closure.taken(np.unravel_index(block, shape) if shape else (None,))
