"""The case of a car whose upright has come to stand otherwise, as it would be measured then.

Chassis-fixed points are written where they are now; what the upright or the lower arm carries is
taken along, points, axes and obstacles alike.
"""

from typing import Any

import numpy as np
from msgspec import Struct

from geometry.linkages.lower_arm import held_joint
from geometry.motion import Motion
from geometry.vectors import Array, cross, turned, unit
from geometry.wheel_angles import camber_angle, toe_angle
from optimizer.car.adjust import Corner, mirror_of, points_of
from optimizer.models.case import Case
from optimizer.models.obstacles import Link, Obstacle, Tube
from optimizer.models.quantities import Triple


def is_in_chassis(point: str) -> bool:
    """Whether a suspension point is fixed in the chassis; if not, the upright carries it."""
    return point == "strut_top" or point.endswith(("_front", "_rear", "_inner"))


class Remeasured(Struct, frozen=True):
    """One wheel's suspension before and now, the same wheel height and rod length in both.

    `motion` is how the upright has moved from the one to the other.
    """

    before: Corner
    now: Corner
    motion: Motion

    def case(self, case: Case) -> Case:
        """Case that would be written now, `case` being the one of before."""
        mirror = mirror_of(case)
        outer = case.joint.outer
        if outer.bolt_axis is not None:
            outer = outer.model_copy(update={"bolt_axis": triple(self.now.bolt_axis * mirror)})
        changes: dict[str, dict[str, Any]] = {
            "points": points_of(case, self.now),
            "wheel": {
                "toe_deg": float(np.degrees(toe_angle(self.now.spin))),
                "camber_deg": float(np.degrees(camber_angle(self.now.spin))),
            },
            "outer_pivot": {"stud_axis": triple(self.now.stud_axis * mirror)},
            "lower_ball_joint": {"stud_axis": triple(self.now.drop_axis * mirror)},
            "joint": {"outer": outer},
        }
        parts = {name: getattr(case, name).model_copy(update=new) for name, new in changes.items()}
        obstacles = tuple(self._carried(part, mirror) for part in case.obstacles)
        return case.model_copy(update={**parts, "obstacles": obstacles})

    def _carried(self, part: Obstacle, mirror: Array) -> Obstacle:
        """An obstacle where it is now; wheel, disc and lower arm follow the points."""
        if not isinstance(part, Tube | Link):
            return part
        start = self._place(np.array(part.start) * mirror, part.fixed_to)
        if isinstance(part, Tube):
            end = self._place(np.array(part.end) * mirror, part.fixed_to)
        else:
            places = (*part.bar_axis, part.end, part.start)
            front, rear, measured, held_at = (np.array(place) * mirror for place in places)
            end = held_joint(front, rear, measured, held_at, start)
        return part.model_copy(
            update={"start": triple(start * mirror), "end": triple(end * mirror)}
        )

    def _place(self, measured: Array, fixed_to: str) -> Array:
        if fixed_to == "upright":
            return self.motion.moved(measured)
        if fixed_to == "lower-arm":
            (rear, before), (rear_now, now) = _arm_frame(self.before), _arm_frame(self.now)
            return rear_now + turned(now, turned(before.T, measured - rear))
        return measured


def triple(point: Array) -> Triple:
    """A point or a direction (3,) as results and cases have it."""
    x, y, z = point.tolist()
    return x, y, z


def _arm_frame(corner: Corner) -> tuple[Array, Array]:
    """Rear pivot of the lower arm, and a frame that turns with the arm, (3, 3)."""
    rear = corner.points["lower_arm_rear"]
    along = unit(corner.points["lower_arm_front"] - rear)
    up = unit(cross(along, corner.points["lower_ball_joint"] - rear))
    return rear, np.stack([along, cross(up, along), up], axis=-1)
