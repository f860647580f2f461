"""Where the parts around the tie rod are at the poses of an upright."""

from itertools import pairwise

import numpy as np
from msgspec import Struct

from geometry.linkages import LeafAxle
from geometry.linkages.lower_arm import arm_turn, extended_joint, held_joint
from geometry.motion import Motion
from geometry.transmission import rod_arm_cosine
from geometry.vectors import Array, norm, turned, unit
from optimizer.car.adjust import Corner
from optimizer.car.settings import Rows
from optimizer.models.obstacles import Leaves, Link, LowerArm, SuspensionLinks, Tube

Ends = tuple[Array, Array]
Barred = LowerArm | SuspensionLinks | Leaves | Tube | Link


class Surroundings(Struct, frozen=True):
    """The parts of a car at the poses (M, T) of its upright."""

    corner: Corner
    mirror: Array
    linkage: Rows
    motion: Motion

    def place(self, point: tuple[float, float, float], fixed_to: str) -> Array:
        """Where a point as typed is now, (..., 3), carried by what it is fixed to. [mm]."""
        measured = np.array(point) * self.mirror
        if fixed_to == "upright":
            return self.motion.moved(measured)
        if fixed_to == "axle":
            return self.link_carrier.moved(measured)
        if fixed_to == "lower-arm":
            rear, now = self._arm_rear
            return now + turned(self.arm_turn, measured - rear)
        return measured

    def seen(self, point: Array, carrier: str) -> Array:
        """Where a point (M, T, 3) is as seen from a part of the car, as that was measured. [mm]."""
        if carrier in ("upright", "axle"):
            motion = self.motion if carrier == "upright" else self.link_carrier
            return turned(np.swapaxes(motion.rotation, -1, -2), point - motion.translation)
        if carrier == "lower-arm":
            rear, now = self._arm_rear
            return rear + turned(np.swapaxes(self.arm_turn, -1, -2), point - now)
        return point

    @property
    def arm_turn(self) -> Array:
        """Rotation of the lower arm since it was measured, (M, T, 3, 3)."""
        front, rear, joint = self.corner.arm(self.linkage[:, None]).values()
        return arm_turn(front, rear, joint, self.ball_joint())

    @property
    def _arm_rear(self) -> tuple[Array, Array]:
        """Rear inner pivot of the lower arm as measured, and where it is. [mm]."""
        fitted = self.corner.arm(self.linkage[:, None])
        return self.corner.points["lower_arm_rear"], fitted["lower_arm_rear"]

    @property
    def link_carrier(self) -> Motion:
        """What the outer ends of the links move with: the upright, or the beam of an axle."""
        return self.motion if self.motion.beam is None else self.motion.beam

    def ball_joint(self) -> Array:
        """Where the lower ball joint is now, (M, T, 3). [mm]."""
        measured = self.corner.points["lower_ball_joint"]
        drop, axis = self.corner.drops[self.linkage[:, None]], self.corner.drop_axis
        return self.motion.moved(extended_joint(measured, drop, axis))

    def leaf(self) -> list[Array]:
        """Where this side's leaf spring and shackle are, five places from eye to pin, (M, T, 3)."""
        axle, beam = self.corner.linkage(self.linkage[:, None]), self.link_carrier
        assert isinstance(axle, LeafAxle)
        places = axle.leaf(beam.rotation, beam.moved(axle.center))
        return [places[..., k, :] for k in range(places.shape[-2])]

    def bar_end(self, link: Link) -> Array:
        """Where the anti-roll bar's end is, held by the link; NaN where it can't follow. [mm]."""
        front, rear, end, start = (
            np.array(point) * self.mirror for point in (*link.bar_axis, link.end, link.start)
        )
        return held_joint(front, rear, end, start, self.place(link.start, link.fixed_to))

    def bar_cosine(self, link: Link) -> Array:
        """Cosine of the angle between a drop link and the arm of its bar, (M, T).

        Its size is above 1, or it is NaN, where the link can't follow.
        """
        start, end, line, other = (
            np.array(point) * self.mirror for point in (link.start, link.end, *link.bar_axis)
        )
        now = self.place(link.start, link.fixed_to)
        return rod_arm_cosine(line, unit(other - line), end, now, norm(end - start))

    def bars(self, obstacle: Barred) -> tuple[str, list[Ends]]:
        """Center lines of an obstacle's bars, and the part of the car that they are seen from. [mm]

        A tube stands still as seen from what carries it.
        """
        if isinstance(obstacle, Tube):
            start, end = (np.array(end) * self.mirror for end in (obstacle.start, obstacle.end))
            return obstacle.fixed_to, [(start, end)]
        if isinstance(obstacle, LowerArm):
            joint = self.ball_joint()
            front, rear, _ = self.corner.arm(self.linkage[:, None]).values()
            return "chassis", [(leg, joint) for leg in (front, rear)]
        if isinstance(obstacle, Link):
            return "chassis", [
                (self.place(obstacle.start, obstacle.fixed_to), self.bar_end(obstacle))
            ]
        if isinstance(obstacle, Leaves):
            return "chassis", list(pairwise(self.leaf()))
        numbers = obstacle.numbers or self.corner.link_numbers
        links = [self.corner.link(k, self.linkage[:, None]) for k in numbers]
        return "chassis", [(inner, self.link_carrier.moved(outer)) for inner, outer in links]
