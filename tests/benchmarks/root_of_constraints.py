"""The usual way to a pose: the constraint equations given to a general-purpose root finder.

An upright has six unknowns, a rotation vector and the move of the wheel center, held by the lengths
of its links, a damper rod's line through the top mount, the length of the tie rod and the height of
the wheel center.  A beam moves about the middle between the wheels and has two unknowns more, the
turn of each knuckle about its kingpin; the drag link, the cross rod and the height of both wheels
hold what its links leave free.  Each pose starts from its neighbor.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings

Array = NDArray[np.float64]
Equations = Callable[[Array, float], Array]
MIRROR = np.array([1.0, -1.0, 1.0])
MIDDLE = np.array([1.0, 0.0, 1.0])


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
class UprightConstraints:
    """An upright on arms or links, with a rod from `inner` to `outer` of `length`. [mm]."""

    corner: Corner
    outer: Array
    inner: Array
    length: float
    unknowns: int = 6

    def equations(self) -> Equations:
        """Six misfits of a pose for a wheel travel."""
        points = self.corner.points
        center = points["wheel_center"]
        starts, ends, square = _links(self.corner)
        starts, ends = np.vstack([starts, self.inner]), np.vstack([ends, self.outer]) - center
        square = np.append(square, self.length**2)
        strut = "strut_top" in points
        if strut:
            top, foot = points["strut_top"], points["strut_axis"] - center
            aside = np.linalg.svd((top - points["strut_axis"])[None])[2][1:]

        def misfit(pose: Array, travel: float) -> Array:
            rotation, place = rotation_matrix(pose[:3]), center + pose[3:]
            apart = ends @ rotation.T + place - starts
            lengths = (apart * apart).sum(axis=1) - square
            if strut:
                off_line = (aside @ rotation.T) @ (top - place - rotation @ foot)
                return np.concatenate([lengths, off_line, [pose[5] - travel]])
            return np.concatenate([lengths, [pose[5] - travel]])

        return misfit

    def spin(self, pose: Array) -> Array:
        """Spin axis of the wheel, (3,)."""
        return rotation_matrix(pose[:3]) @ self.corner.spin


@dataclass(frozen=True)
class AxleConstraints:
    """A beam axle, with a drag link from `inner` to `outer` of `length`. [mm]."""

    corner: Corner
    outer: Array
    inner: Array
    length: float
    unknowns: int = 8

    def equations(self) -> Equations:
        """Eight misfits of a pose for a travel of both wheels."""
        points = self.corner.points
        middle = points["wheel_center"] * MIDDLE
        starts, ends, square = _links(self.corner)
        ends = ends - middle
        kingpin, wheel, rod_end = (
            points[name] for name in ("kingpin_lower", "wheel_center", "cross_rod_end")
        )
        about = self._kingpin_direction()
        left = np.array([wheel, rod_end, self.outer]) - kingpin
        right = np.array([wheel, rod_end]) * MIRROR - kingpin * MIRROR
        pins = (kingpin - middle, kingpin * MIRROR - middle)
        height = wheel[2] - middle[2]
        cross_rod, drag_link = (2.0 * rod_end[1]) ** 2, self.length**2

        def misfit(pose: Array, travel: float) -> Array:
            rotation, place = rotation_matrix(pose[:3]), middle + pose[3:6]
            apart = ends @ rotation.T + place - starts
            lengths = (apart * apart).sum(axis=1) - square
            at_left = pins[0] + left @ rotation_matrix(pose[6] * about).T
            at_right = pins[1] + right @ rotation_matrix(pose[7] * about * MIRROR).T
            span = at_left[1] - at_right[1]
            drag = rotation @ at_left[2] + place - self.inner
            rises = np.array([at_left[0], at_right[0]]) @ rotation[2] - height + pose[5] - travel
            rods = [span @ span - cross_rod, drag @ drag - drag_link]
            return np.concatenate([lengths, rods, rises])

        return misfit

    def spin(self, pose: Array) -> Array:
        """Spin axis of the left wheel, (3,)."""
        turn = rotation_matrix(pose[6] * self._kingpin_direction())
        return rotation_matrix(pose[:3]) @ turn @ self.corner.spin

    def _kingpin_direction(self) -> Array:
        along = self.corner.points["kingpin_upper"] - self.corner.points["kingpin_lower"]
        return along / np.linalg.norm(along)


def _links(corner: Corner) -> tuple[Array, Array, Array]:
    """Both ends (L, 3) of the links, an arm's two legs among them, and squared lengths (L,)."""
    pairs = [(f"link_{number}_inner", f"link_{number}_outer") for number in corner.link_numbers]
    pairs += [
        (f"{arm}_arm_{leg}", f"{arm}_ball_joint")
        for arm in ("lower", "upper")
        for leg in ("front", "rear")
        if f"{arm}_arm_{leg}" in corner.points
    ]
    starts, ends = (np.array([corner.points[pair[k]] for pair in pairs]) for k in (0, 1))
    return starts, ends, ((ends - starts) ** 2).sum(axis=1)


def constraints_of(evaluator: Evaluator, setting: Settings) -> Held:
    """Constraints of a car with a setting, the rod cut to its static toe."""
    (outer,), (inner,) = evaluator.corner.pivots(setting)
    kind = AxleConstraints if evaluator.corner.on_beam else UprightConstraints
    return kind(evaluator.corner, outer, inner, float(evaluator.rod_length(setting)[0]))


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
