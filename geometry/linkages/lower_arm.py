"""The lower arm: its ball joint runs on a circle; and the steering axis that it ends."""

from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array, cross, dot, rotation_about, unit

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


def arm_joint(front: Array, rear: Array, joint: Array, angle: Array) -> Array:
    """Position of an arm's outer joint after the arm has swung about its two inner pivots.

    Parameters
    ----------
    front, rear, joint : (..., 3) float array
        Inner pivots and outer joint as measured. [mm]
    angle : (...) float array
        Swing from the measured pose, positive where it first raises the joint. [rad]

    Returns
    -------
    (..., 3) float array
        The joint. [mm]
    """
    axis = unit(front - rear)
    foot = rear + dot(joint - rear, axis)[..., None] * axis
    reach = joint - foot
    rise = cross(axis, reach)
    rise = rise * np.where(rise[..., 2] < 0.0, -1.0, 1.0)[..., None]
    point: Array = foot + np.cos(angle)[..., None] * reach + np.sin(angle)[..., None] * rise
    return point


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
