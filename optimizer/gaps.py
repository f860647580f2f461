"""Gaps of the tie rod and the outer joint to the parts around them, wherever those are now."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from geometry.clearance import Capsule, capsule_gap, disc_gap, plane_gap
from geometry.linkages.lower_arm import arm_turn, extended_joint
from geometry.motion import Motion
from geometry.rim import barrel_gap
from geometry.sag import Grid, Ring, capsule_floor, on_grid, plane_floor, ring_floor
from geometry.spheres import three_sphere_point, which_side
from geometry.vectors import Array, norm, turned
from optimizer.adjust import Corner, Settings, mirror_of
from optimizer.evaluate import Evaluator
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
from optimizer.watched import Watched


@dataclass(frozen=True)
class Surroundings:
    """The parts of a car at the poses (M, T) of its upright."""

    corner: Corner
    mirror: Array
    ball_joint_drop: Array
    motion: Motion

    def place(self, point: tuple[float, float, float], fixed_to: str) -> Array:
        """Where a point as typed is now, (..., 3), carried by what it is fixed to. [mm]."""
        measured = np.array(point) * self.mirror
        if fixed_to == "upright":
            return self.motion.moved(measured)
        if fixed_to == "axle":
            return self.link_carrier.moved(measured)
        if fixed_to == "lower-arm":
            rear = self.corner.points["lower_arm_rear"]
            return rear + turned(self.arm_turn, measured - rear)
        return measured

    def seen(self, point: Array, carrier: str) -> Array:
        """Where a point (M, T, 3) is as seen from a part of the car, as that was measured. [mm]."""
        if carrier in ("upright", "axle"):
            motion = self.motion if carrier == "upright" else self.link_carrier
            return turned(np.swapaxes(motion.rotation, -1, -2), point - motion.translation)
        if carrier == "lower-arm":
            rear = self.corner.points["lower_arm_rear"]
            return rear + turned(np.swapaxes(self.arm_turn, -1, -2), point - rear)
        return point

    @property
    def arm_turn(self) -> Array:
        """Rotation of the lower arm since it was measured, (M, T, 3, 3)."""
        rear, front = (self.corner.points[f"lower_arm_{end}"] for end in ("rear", "front"))
        return arm_turn(front, rear, self.corner.points["lower_ball_joint"], self.ball_joint())

    @property
    def link_carrier(self) -> Motion:
        """What the outer ends of the links move with: the upright, or the beam of an axle."""
        return self.motion if self.motion.beam is None else self.motion.beam

    def ball_joint(self) -> Array:
        """Where the lower ball joint is now, (M, T, 3). [mm]."""
        measured = self.corner.points["lower_ball_joint"]
        drop, axis = self.ball_joint_drop[:, None], self.corner.drop_axis
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

    def floor(self, capsule: Capsule, obstacle: Obstacle, gap: Array, grid: Grid) -> Array:
        """Lower bound of a `gap` (M, T) on every cell of a grid, (M, R - 1, H - 1). [mm].

        Each part is looked at from where the obstacle stands still, if it does anywhere.
        """
        if isinstance(obstacle, Rim | Disc):
            part = _on_grid(self._capsule_seen(capsule, "upright"), grid)
            return ring_floor(on_grid(gap, grid), part, self._ring(obstacle), grid)
        if isinstance(obstacle, Plane):
            point = self.place(obstacle.point, obstacle.fixed_to)
            return plane_floor(on_grid(gap, grid), _on_grid(capsule, grid), point, grid)
        radius = np.asarray(0.5 * obstacle.diameter)
        if isinstance(obstacle, Tube):
            part = _on_grid(self._capsule_seen(capsule, obstacle.fixed_to), grid)
            start, end = (np.array(end) * self.mirror for end in (obstacle.start, obstacle.end))
            return capsule_floor(part, Capsule(start, end, radius), grid)
        part = _on_grid(capsule, grid)
        least: Array = np.minimum.reduce(
            [
                capsule_floor(part, _on_grid(Capsule(*ends, radius), grid), grid)
                for ends in self._center_lines(obstacle)
            ]
        )
        return least

    def _capsule_seen(self, capsule: Capsule, carrier: str) -> Capsule:
        start, end = (self.seen(end, carrier) for end in (capsule.start, capsule.end))
        return Capsule(start, end, capsule.radius)

    def _ring(self, ring: Rim | Disc) -> Ring:
        center, spin = self.corner.points["wheel_center"], self.corner.spin
        if isinstance(ring, Rim):
            stations, _ = ring.profile
            return Ring(center, spin, (stations[0], stations[-1]))
        return Ring(center, spin, (ring.inboard, ring.outboard), 0.5 * ring.diameter)

    def _center_lines(
        self, bar: LowerArm | SuspensionLinks | Tube | Link
    ) -> Iterator[tuple[Array, Array]]:
        if isinstance(bar, LowerArm):
            for end in ("front", "rear"):
                yield self.corner.points[f"lower_arm_{end}"], self.ball_joint()
        elif isinstance(bar, SuspensionLinks):
            for k in bar.numbers or self.corner.link_numbers:
                inner, outer = self.corner.link(k, self.ball_joint_drop[:, None])
                yield inner, self.link_carrier.moved(outer)
        elif isinstance(bar, Link):
            yield self.place(bar.start, bar.fixed_to), self.bar_end(bar)
        else:
            yield self.place(bar.start, bar.fixed_to), self.place(bar.end, bar.fixed_to)


def _on_grid(capsule: Capsule, grid: Grid) -> Capsule:
    start, end = (on_grid(end, grid) for end in (capsule.start, capsule.end))
    return Capsule(start, end, capsule.radius)


def gaps(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> Iterator[Watched]:
    """Gaps of rod and outer joint to every obstacle that the case lists.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    motion : Motion
        Their poses, (M, T).
    rack : (T,) or (M, T) float array
        Rack travel of each, to the left of the car positive. [mm]

    Yields
    ------
    Watched
        A "gap" [mm]; of a drop link also the "reach", 1 where it can follow and -1 where not.
    """
    case, corner = evaluator.case, evaluator.corner
    around = Surroundings(corner, mirror_of(case), settings.ball_joint_drop, motion)
    rod, housing = _moving_parts(evaluator, settings, motion, rack)
    parts = ((case.words.short_rod, rod), ("outer joint", housing))
    for obstacle in case.obstacles:
        reach = "linkage"
        if isinstance(obstacle, Link):
            reach = obstacle.name
            yield Watched("reach", obstacle.name, 0.0, partial(_link_follows, around, obstacle))
        for part, capsule in parts:
            yield Watched(
                "gap",
                f"{part} to {obstacle.name}",
                obstacle.gap,
                partial(around.gap, capsule, obstacle),
                partial(around.floor, capsule, obstacle),
                reach,
            )


def _link_follows(around: Surroundings, link: Link) -> Array:
    stuck = np.isnan(around.bar_end(link)[..., 0]) & (around.motion.reach == 0)
    return np.where(stuck, -1.0, 1.0)


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
