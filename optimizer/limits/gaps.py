"""Gaps of the tie rod and the outer joint to the parts around them, wherever those are now."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.clearance import Capsule, capsule_gap, disc_gap, plane_gap
from geometry.linkages.lower_arm import arm_turn, extended_joint
from geometry.motion import Motion
from geometry.rim import barrel_gap
from geometry.spheres import three_sphere_point, which_side
from geometry.vectors import Array, norm, turned
from optimizer.car.adjust import Corner, Rows, Settings, mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.models.obstacles import (
    Disc,
    Link,
    LowerArm,
    Obstacle,
    Plane,
    Rim,
    SuspensionLinks,
    Tube,
)

Part = Literal["rod", "outer joint", "inner joint"]
Found = tuple[str, str, Array, float, Part | None]


@dataclass(frozen=True)
class Surroundings:
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
            rear, front = (self.corner.points[f"lower_arm_{end}"] for end in ("rear", "front"))
            joint = self.corner.points["lower_ball_joint"]
            turn = arm_turn(front, rear, joint, self.ball_joint())
            return rear + turned(turn, measured - rear)
        return measured

    @property
    def link_carrier(self) -> Motion:
        """What the outer ends of the links move with: the upright, or the beam of an axle."""
        return self.motion if self.motion.beam is None else self.motion.beam

    def ball_joint(self) -> Array:
        """Where the lower ball joint is now, (M, T, 3). [mm]."""
        measured = self.corner.points["lower_ball_joint"]
        drop, axis = self.corner.drops[self.linkage[:, None]], self.corner.drop_axis
        return self.motion.moved(extended_joint(measured, drop, axis))

    def bar_end(self, link: Link) -> Array:
        """Where the anti-roll bar's end is, held by the link; NaN where it can't follow. [mm]."""
        start, end, *line = (
            np.array(point) * self.mirror for point in (link.start, link.end, *link.bar_axis)
        )
        side = which_side(np.stack([*line, start]), end)
        radii = norm(np.stack([*line, start]) - end)
        now = self.place(link.start, link.fixed_to)
        centers = np.stack(np.broadcast_arrays(*line, now), axis=-2)
        return three_sphere_point(centers, radii, np.where(side == 0.0, np.nan, side))

    def gap(self, capsule: Capsule, obstacle: Obstacle) -> Array:
        """Gap of one capsule (M, T) to one obstacle, (M, T). [mm]."""
        if isinstance(obstacle, Rim | Disc):
            return self._gap_about_the_axle(capsule, obstacle)
        if isinstance(obstacle, Plane):
            return plane_gap(
                capsule,
                self.place(obstacle.point, obstacle.fixed_to),
                np.array(obstacle.free_side) * self.mirror,
            )
        radius = np.asarray(0.5 * obstacle.diameter)
        gaps = (
            capsule_gap(capsule, Capsule(*ends, radius)) for ends in self._center_lines(obstacle)
        )
        least: Array = np.minimum.reduce(list(gaps))
        return least

    def _gap_about_the_axle(self, capsule: Capsule, ring: Rim | Disc) -> Array:
        center = self.motion.moved(self.corner.points["wheel_center"])
        axis = turned(self.motion.rotation, self.corner.spin)
        if isinstance(ring, Rim):
            stations, diameters = ring.profile
            return barrel_gap(capsule, center, axis, stations=stations, inside_diameters=diameters)
        return disc_gap(
            capsule,
            center,
            axis,
            diameter=ring.diameter,
            inboard=ring.inboard,
            outboard=ring.outboard,
        )

    def _center_lines(
        self, bar: LowerArm | SuspensionLinks | Tube | Link
    ) -> Iterator[tuple[Array, Array]]:
        if isinstance(bar, LowerArm):
            for end in ("front", "rear"):
                yield self.corner.points[f"lower_arm_{end}"], self.ball_joint()
        elif isinstance(bar, SuspensionLinks):
            for k in bar.numbers or self.corner.link_numbers:
                inner, outer = self.corner.link(k, self.linkage[:, None])
                yield inner, self.link_carrier.moved(outer)
        elif isinstance(bar, Link):
            yield self.place(bar.start, bar.fixed_to), self.bar_end(bar)
        else:
            yield self.place(bar.start, bar.fixed_to), self.place(bar.end, bar.fixed_to)


def gaps(evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array) -> Iterator[Found]:
    """Gaps of rod and outer joint to every obstacle that the case lists.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    motion : Motion
        Their poses, (M, T).
    rack : (T,) float array
        Rack travel of each, to the left of the car positive. [mm]

    Yields
    ------
    (kind, name, value, limit, part)
        "gap" with (M, T) gaps of a part and the gap wanted [mm]; "reach" where a drop link can't
        follow, 1 where it can and -1 where not.
    """
    case, corner = evaluator.case, evaluator.corner
    around = Surroundings(corner, mirror_of(case), settings.linkage, motion)
    rod, housing = _moving_parts(evaluator, settings, motion, rack)
    parts: tuple[tuple[Part, str, Capsule], ...] = (
        ("rod", case.words.short_rod, rod),
        ("outer joint", "outer joint", housing),
    )
    for obstacle in case.obstacles:
        if isinstance(obstacle, Link):
            stuck = np.isnan(around.bar_end(obstacle)[..., 0]) & (motion.reach == 0)
            yield "reach", obstacle.name, np.where(stuck, -1.0, 1.0), 0.0, None
        for part, named, capsule in parts:
            gap = around.gap(capsule, obstacle)
            yield "gap", f"{named} to {obstacle.name}", gap, obstacle.gap, part


def _moving_parts(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> tuple[Capsule, Capsule]:
    """Rod and outer housing, (M, T)."""
    joint, corner = evaluator.case.joint, evaluator.corner
    outer_now, inner_now = evaluator.rod_ends(settings, motion, rack)
    rod = Capsule(inner_now, outer_now, np.asarray(0.5 * joint.rod_diameter))
    radius = 0.5 * joint.housing_diameter
    half = max(0.0, 0.5 * joint.housing_height - radius)
    bolt = half * turned(motion.rotation, corner.bolt_axis)
    return rod, Capsule(outer_now - bolt, outer_now + bolt, np.asarray(radius))
