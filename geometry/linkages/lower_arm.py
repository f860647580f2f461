"""Arms: their outer joint runs on a circle; and the steering axis that the lower one ends."""

from dataclasses import KW_ONLY, dataclass, field
from functools import cached_property

import numpy as np

from geometry.spheres import root_or_nan
from geometry.vectors import Array, cross, dot, norm, rotation_about, unit

DOWN = np.array([0.0, 0.0, -1.0])


@dataclass(frozen=True)
class SteeringAxis:
    """The axis about which the upright may still turn, named by two points of it.

    `lower` and `upper` are where the points are; `lower_measured` and `upper_measured` are where
    the upright carried them when the car was measured.  All (..., 3). [mm]
    """

    lower: Array
    upper: Array
    lower_measured: Array
    upper_measured: Array


@dataclass(frozen=True)
class JointCircle:
    """The circle on which an arm's outer joint runs about the line through its inner pivots.

    From its `center` the joint stands at `reach` as measured; `ahead` is where it is after a
    quarter turn, the way that first raises it.  All (..., 3). [mm]
    """

    center: Array
    reach: Array
    ahead: Array

    @staticmethod
    def of(front: Array, rear: Array, joint: Array) -> "JointCircle":
        """Make it from an arm's inner pivots and outer joint as measured, (..., 3) each. [mm]"""
        axis = unit(front - rear)
        center = rear + dot(joint - rear, axis)[..., None] * axis
        reach = joint - center
        ahead = cross(axis, reach)
        up = np.where(ahead[..., 2] < 0.0, -1.0, 1.0)[..., None]
        return JointCircle(center, reach, ahead * up)

    @property
    def radius(self) -> Array:
        """Distance of the joint from the line. [mm]"""
        return norm(self.reach)

    def joint(self, swing: Array) -> Array:
        """Where the joint is after a swing from the measured pose, (...) [rad] to (..., 3). [mm]"""
        across, along = np.cos(swing)[..., None], np.sin(swing)[..., None]
        return self.center + across * self.reach + along * self.ahead

    def apart_from(self, other: Array, distance: Array, side: Array) -> Array:
        """Where the joint is a distance from another point, (..., 3) and (...); NaN if nowhere.

        Of two such places the one on the `side` that `side_of` told as measured. [mm]
        """
        from_other = self.center - other
        level, up = dot(from_other, self.reach), dot(from_other, self.ahead)
        square = level**2 + up**2
        nearer = 0.5 * (distance**2 - self.radius**2 - dot(from_other, from_other))
        beside = side * root_or_nan(square - nearer**2, square)
        across, along = level * nearer - up * beside, up * nearer + level * beside
        moved = across[..., None] * self.reach + along[..., None] * self.ahead
        with np.errstate(invalid="ignore"):  # NaN for a point on the line: everywhere alike
            place: Array = self.center + moved / square[..., None]
        return place

    def side_of(self, other: Array) -> Array:
        """On which side of the plane through the line and a point (..., 3) the joint stands: 1, -1.

        As measured; 0 in the plane. [mm]
        """
        side: Array = np.sign(-dot(self.center - other, self.ahead))
        return side

    def swing(self, rise: Array) -> Array:
        """Swing that raises the joint by `rise` [mm], or as near to that as it goes. [rad]"""
        level, up = self.reach[..., 2], self.ahead[..., 2]
        highest = np.hypot(level, up)
        share = (rise + level) / np.where(highest == 0.0, np.nan, highest)
        swing: Array = np.arcsin(np.clip(share, -1.0, 1.0)) - np.arctan2(level, up)
        return swing


def held_joint(front: Array, rear: Array, joint: Array, held_at: Array, held_now: Array) -> Array:
    """Where an arm's outer joint is once the link that holds it has been moved at its other end.

    The link holds the `joint` at `held_at` as measured, and at `held_now` now; all (..., 3).  NaN
    where it can't follow, or lies in one plane with the arm, which may then go either way. [mm]
    """
    arm = JointCircle.of(front, rear, joint)
    side = arm.side_of(held_at)
    return arm.apart_from(held_now, norm(joint - held_at), np.where(side == 0.0, np.nan, side))


def extended_joint(joint: Array, drop: Array, drop_axis: Array = DOWN) -> Array:
    """A ball joint moved in the upright by `drop` along an axis, (..., 3), as measured. [mm]

    The arm keeps its joint and its length; only the place in the upright changes.
    """
    moved: Array = joint + np.asarray(drop)[..., None] * drop_axis
    return moved


def arm_turn(front: Array, rear: Array, joint: Array, joint_now: Array) -> Array:
    """Rotation of an arm since it was measured, about the line through its inner pivots.

    Parameters
    ----------
    front, rear, joint : (..., 3) float array
        Inner pivots and outer joint as measured. [mm]
    joint_now : (..., 3) float array
        Where the outer joint has swung to. [mm]

    Returns
    -------
    (..., 3, 3) float array
        Matrices that turn an offset from either inner pivot; NaN where `joint_now` is.
    """
    axis = unit(front - rear)
    before, now = joint - rear, joint_now - rear
    along = dot(axis, before)
    across = dot(before, now) - along * dot(axis, now)
    return rotation_about(axis, np.arctan2(dot(axis, cross(before, now)), across))


@dataclass(frozen=True)
class OnLowerArm:
    """Points as measured of a left wheel that a lower arm holds at its ball joint, each (..., 3).

    `ball_joint_drop` (...) moves the joint in the upright along the unit vector `drop_axis`, down;
    the arm keeps its length. [mm]
    """

    lower_arm_front: Array
    lower_arm_rear: Array
    lower_ball_joint: Array
    _: KW_ONLY
    wheel_center: Array
    ball_joint_drop: Array = field(default_factory=lambda: np.zeros(()))
    drop_axis: Array = field(default_factory=lambda: DOWN)

    @cached_property
    def lower_circle(self) -> JointCircle:
        """Where the lower ball joint can be."""
        return JointCircle.of(self.lower_arm_front, self.lower_arm_rear, self.lower_ball_joint)

    @cached_property
    def lower_joint_in_upright(self) -> Array:
        """Where the upright carries the lower ball joint, extension included. [mm]"""
        return extended_joint(self.lower_ball_joint, self.ball_joint_drop, self.drop_axis)
