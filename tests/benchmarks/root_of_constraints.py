"""The usual way to a pose: the constraint equations given to a general-purpose root finder.

Six unknowns place the upright: a rotation vector and the translation of the lower ball joint.  Six
equations hold it: the lengths of five links and the height of the wheel center.  Each pose starts
from its neighbor.  A strut's upper end has two equations of its own instead of two links: the top
mount lies on the damper-rod line.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from optimizer.car.adjust import Corner

Array = NDArray[np.float64]
Equations = Callable[[Array, float], Array]


def rotation_matrix(vector: Array) -> Array:
    """Rotation by the length of a vector about its direction."""
    angle = np.sqrt(vector @ vector)
    if angle == 0.0:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * (cross @ cross)


class Held(Protocol):
    """A linkage with one rod, as a root finder sees it."""

    unknowns: int  # the first three are the rotation vector of the upright, or of the axle beam

    def equations(self) -> Equations:
        """Misfits of a pose for a wheel travel, one for each unknown."""
        ...

    def spin(self, pose: Array) -> Array:
        """Spin axis of the wheel, (3,)."""
        ...


@dataclass(frozen=True)
class Constraints:
    """Constraint equations of one corner with one rod. [mm].

    `inner` (L, 3) are pivots in the chassis, `outer` (L, 3) the points of the upright, measured
    from the lower ball joint, that links of `length` (L,) hold to them.
    """

    corner: Corner
    inner: Array
    outer: Array
    length: Array
    unknowns: int = 6

    @staticmethod
    def of(corner: Corner, outer: Array, inner: Array, rod_length: float) -> "Constraints":
        """Take the links of a corner, and a rod from `inner` to `outer` of the given length."""
        points = corner.points
        joint = points["lower_ball_joint"]
        links = [("lower_arm_front", joint), ("lower_arm_rear", joint)]
        if "upper_ball_joint" in points:
            upper = points["upper_ball_joint"]
            links += [("upper_arm_front", upper), ("upper_arm_rear", upper)]
        starts = np.array([*(points[name] for name, _ in links), inner])
        ends = np.array([*(end for _, end in links), outer])
        length = np.linalg.norm(ends - starts, axis=1)
        length[-1] = rod_length
        return Constraints(corner, starts, ends - joint, length)

    def equations(self) -> Equations:
        """Six misfits of a pose for a wheel travel."""
        points = self.corner.points
        joint = points["lower_ball_joint"]
        inner, outer, square = self.inner, self.outer, self.length**2
        center = points["wheel_center"] - joint
        strut = "strut_top" in points
        if strut:
            top, foot = points["strut_top"], points["strut_axis"] - joint
            along = (points["strut_top"] - points["strut_axis"]) / np.linalg.norm(
                points["strut_top"] - points["strut_axis"]
            )
            aside = np.linalg.svd(along[None])[2][1:]  # two directions square to the damper rod

        def misfit(pose: Array, travel: float) -> Array:
            rotation, place = rotation_matrix(pose[:3]), joint + pose[3:]
            apart = outer @ rotation.T + place - inner
            lengths = (apart * apart).sum(axis=1) - square
            rise = rotation[2] @ center - center[2] + pose[5] - travel
            if strut:
                off_line = (aside @ rotation.T) @ (top - place - rotation @ foot)
                return np.concatenate([lengths, off_line, [rise]])
            return np.concatenate([lengths, [rise]])

        return misfit

    def spin(self, pose: Array) -> Array:
        """Spin axis of the wheel, (3,)."""
        return rotation_matrix(pose[:3]) @ self.corner.spin


def toe_of_poses(held: Held, travel: Array) -> Array:
    """Toe at each travel, pose by pose from ride height outward, (T,) to (T,). [rad]."""
    equations = held.equations()
    toe = np.empty(travel.size)
    home = int(np.argmin(np.abs(travel)))
    for way in (range(home, travel.size), range(home, -1, -1)):
        pose = np.zeros(held.unknowns)
        for k in way:
            found = root(equations, pose, args=(travel[k],), tol=1e-12)
            pose = found.x
            x, y, _ = held.spin(pose)
            toe[k] = np.arctan2(x, y)
    return toe
