"""Double wishbone: two arms on fixed axes, a ball joint at the end of each."""

from dataclasses import dataclass
from functools import cached_property

from geometry.linkages.link_set import LinkSet, side_by_side
from geometry.linkages.lower_arm import JointCircle, OnLowerArm, SteeringAxis
from geometry.vectors import Array, norm


@dataclass(frozen=True)
class DoubleWishbone(OnLowerArm):
    """Points of a left wheel's double wishbone as measured, each (..., 3). [mm]"""

    upper_arm_front: Array
    upper_arm_rear: Array
    upper_ball_joint: Array

    def steering_axis(self, arm_angle: Array) -> SteeringAxis:
        """Both ball joints for a swing of the lower arm, (...) to (..., 3) each; NaN beyond reach.

        The upper ball joint keeps its distance from the lower one and from its own two pivots.
        """
        lower = self.lower_circle.joint(arm_angle)
        upper = self._upper_circle.apart_from(lower, *self._upright)
        return SteeringAxis(lower, upper, self.lower_joint_in_upright, self.upper_ball_joint)

    @cached_property
    def _upper_circle(self) -> JointCircle:
        """Where the upper ball joint can be."""
        return JointCircle.of(self.upper_arm_front, self.upper_arm_rear, self.upper_ball_joint)

    @cached_property
    def _upright(self) -> tuple[Array, Array]:
        """Distance of the ball joints [mm], and the side of the lower one that the upper is on."""
        lower = self.lower_joint_in_upright
        return norm(self.upper_ball_joint - lower), self._upper_circle.side_of(lower)

    def link_set(self) -> LinkSet:
        """Each arm as two links to its ball joint."""
        lower = self.lower_joint_in_upright
        chassis = side_by_side(
            self.lower_arm_front, self.lower_arm_rear, self.upper_arm_front, self.upper_arm_rear
        )
        joints = (self.lower_ball_joint, self.upper_ball_joint)
        measured = side_by_side(joints[0], joints[0], joints[1], joints[1])
        upright = side_by_side(lower, lower, joints[1], joints[1])
        return LinkSet(chassis, upright, norm(measured - chassis), self.wheel_center)
