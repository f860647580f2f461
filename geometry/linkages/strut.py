"""Strut: a lower arm, and a damper rod that slides through a fixed top mount."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.linkages.link_set import LinkSet, side_by_side
from geometry.linkages.lower_arm import OnLowerArm, SteeringAxis
from geometry.spheres import line_sphere_point
from geometry.vectors import Array, dot, norm, unit


@dataclass(frozen=True)
class Strut(OnLowerArm):
    """Points of a left wheel's strut suspension as measured, each (..., 3). [mm]

    `strut_axis` is any second point on the damper-rod center line, which is fixed in the upright;
    `strut_top` is fixed in the chassis and stays on that line.
    """

    strut_top: Array
    strut_axis: Array

    def steering_axis(self, arm_angle: Array) -> SteeringAxis:
        """Ball joint and top mount for a swing of the lower arm, (...) to (..., 3) each.

        The upright sees the top mount slide along the damper-rod line until it has the right
        distance from the ball joint; NaN where the ball joint comes nearer than that line.
        """
        lower, lower_measured = self.lower_circle.joint(arm_angle), self.lower_joint_in_upright
        up, side = self._line
        slide = line_sphere_point(
            self.strut_top, up, lower_measured, norm(self.strut_top - lower), side
        )
        upper_measured = self.strut_top + slide[..., None] * up
        return SteeringAxis(lower, self.strut_top, lower_measured, upper_measured)

    @cached_property
    def _line(self) -> tuple[Array, Array]:
        """The damper-rod line's upward direction, and 1 where that leads to the top mount."""
        up = unit(self.strut_top - self.strut_axis)
        up = up * np.where(up[..., 2] < 0.0, -1.0, 1.0)[..., None]
        return up, np.sign(dot(up, self.strut_top - self.lower_joint_in_upright))

    def link_set(self) -> LinkSet:
        """The arm as two links to its ball joint, beside the damper rod."""
        lower = self.lower_joint_in_upright
        chassis = side_by_side(self.lower_arm_front, self.lower_arm_rear)
        return LinkSet(
            chassis,
            side_by_side(lower, lower),
            norm(self.lower_ball_joint[..., None, :] - chassis),
            self.wheel_center,
            side_by_side(self.strut_top, self.strut_axis),
        )
