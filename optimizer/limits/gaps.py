"""Gaps of the tie rod and the outer joint to the parts around them, wherever those are now."""

from collections.abc import Iterator
from functools import cached_property, partial

import numpy as np
from msgspec import Struct, field

from geometry.clearance import Capsule, capsule_gap, disc_gap, plane_gap, separation
from geometry.motion import Motion
from geometry.rim import barrel_gap
from geometry.ring_sag import Ring, ring_floor
from geometry.sag import Grid, Swept, capsule_floor, on_grid, plane_floor, smallest_corner, swept
from geometry.vectors import Array, turned
from optimizer.car.adjust import mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.limits.one_line import clear_deg, least_clear_deg
from optimizer.limits.surroundings import Barred, Surroundings
from optimizer.limits.watched import Part, Watched
from optimizer.models.obstacles import (
    Disc,
    Link,
    Obstacle,
    Plane,
    Rim,
)


class MovingPart(Struct, frozen=True):
    """The rod or the outer joint's housing, (M, T), among the parts around it.

    `measured` (M, 1) is where the upright had it when the car was measured, None if it moves in the
    upright.
    """

    part: Part
    name: str
    capsule: Capsule
    measured: Capsule | None
    around: Surroundings
    known: dict[str, Capsule] = field(default_factory=dict)
    known_on_grid: dict[str, Swept] = field(default_factory=dict)

    def swept(self, carrier: str, grid: Grid) -> Swept:
        """The same over the grid on which its places lie."""
        if carrier not in self.known_on_grid:
            self.known_on_grid[carrier] = swept(self.seen(carrier), grid)
        return self.known_on_grid[carrier]

    def seen(self, carrier: str) -> Capsule:
        """The part as seen from what carries an obstacle, worked out once for each."""
        if carrier not in self.known:
            ends = (self.capsule.start, self.capsule.end)
            start, end = (self.around.seen(end, carrier) for end in ends)
            self.known[carrier] = Capsule(start, end, self.capsule.radius)
        return self.known[carrier]


class BarEncounter(Struct, frozen=True, dict=True):
    """A moving part and an obstacle made of round bars."""

    part: MovingPart
    obstacle: Barred

    @cached_property
    def bars(self) -> tuple[str, list[tuple[Capsule, Array]]]:
        """Bars and the shortest vector from each to the part, (M, T, 3), seen from one place."""
        carrier, bars = self.part.around.bars(self.obstacle)
        radius = np.asarray(0.5 * self.obstacle.diameter)
        capsules = [Capsule(*ends, radius) for ends in bars]
        return carrier, [(bar, separation(self.part.seen(carrier), bar)) for bar in capsules]

    def gap(self) -> Array:
        """Gap to the nearest bar, (M, T). [mm]."""
        gaps = [capsule_gap(self.part.capsule, bar, apart) for bar, apart in self.bars[1]]
        least: Array = np.minimum.reduce(gaps)
        return least

    def floor(self, _: Array, grid: Grid) -> Array:
        """Lower bound of the gap on every cell of a grid, (M, R - 1, H - 1). [mm]."""
        carrier, bars = self.bars
        part = self.part.swept(carrier, grid)
        floors = [
            capsule_floor(part, swept(bar, grid), on_grid(apart, grid)) for bar, apart in bars
        ]
        least: Array = np.minimum.reduce(floors)
        return least


class RingEncounter(Struct, frozen=True):
    """A moving part and a rim or disc, seen from the wheel."""

    part: MovingPart
    obstacle: Rim | Disc

    def gap(self) -> Array:
        """Gap, (M, T). [mm]."""
        if self.part.measured is None:
            return self._gap(self.part.seen("upright"))
        reached = self.part.around.motion.reach == 0
        return np.where(reached, self._gap(self.part.measured), np.nan)

    def floor(self, gap: Array, grid: Grid) -> Array:
        """Lower bound of the gap on every cell of a grid, (M, R - 1, H - 1). [mm]."""
        gap = on_grid(gap, grid)
        if self.part.measured is not None:
            return smallest_corner(gap)
        corner, ring = self.part.around.corner, self.obstacle
        center, solid = corner.points["wheel_center"], None
        if isinstance(ring, Rim):
            stations = ring.profile[0][0], ring.profile[0][-1]
        else:
            stations, solid = (ring.inboard, ring.outboard), 0.5 * ring.diameter
        rod = self.part.swept("upright", grid)
        return ring_floor(gap, rod, Ring(center, corner.spin, stations, solid))

    def _gap(self, capsule: Capsule) -> Array:
        corner, ring = self.part.around.corner, self.obstacle
        center, axis = corner.points["wheel_center"], corner.spin
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


class PlaneEncounter(Struct, frozen=True):
    """A moving part and a face of the chassis."""

    part: MovingPart
    obstacle: Plane

    @property
    def face(self) -> tuple[Array, Array]:
        """A point of the face [mm], and its free side."""
        point, free = np.array([self.obstacle.point, self.obstacle.free_side])
        return point * self.part.around.mirror, free * self.part.around.mirror

    def gap(self) -> Array:
        """Gap, (M, T). [mm]."""
        return plane_gap(self.part.capsule, *self.face)

    def floor(self, _: Array, grid: Grid) -> Array:
        """Lower bound of the gap on every cell of a grid, (M, R - 1, H - 1). [mm]."""
        return plane_floor(self.part.swept("chassis", grid), *self.face)


Encounter = BarEncounter | RingEncounter | PlaneEncounter


def _encounter(part: MovingPart, obstacle: Obstacle) -> Encounter:
    if isinstance(obstacle, Rim | Disc):
        return RingEncounter(part, obstacle)
    if isinstance(obstacle, Plane):
        return PlaneEncounter(part, obstacle)
    return BarEncounter(part, obstacle)


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
        A "gap" [mm]; of a drop link also the "reach", above 0 where it can follow and -1 where not.
    """
    parts = list(moving_parts(evaluator, settings, motion, rack))
    for obstacle in evaluator.case.obstacles:
        reach = "linkage"
        if isinstance(obstacle, Link):
            reach = obstacle.name
            yield _link_follows(reach, parts[0].around, obstacle)
        for part in parts:
            met = _encounter(part, obstacle)
            name = f"{part.name} to {obstacle.name}"
            yield Watched("gap", name, obstacle.gap, met.gap, met.floor, reach, part.part)


def _link_follows(name: str, around: Surroundings, link: Link) -> Watched:
    """Whether a drop link follows: it must not come into one line with the arm of its bar."""

    def cosine() -> Array:
        return around.bar_cosine(link)[..., None]

    def value() -> Array:
        reached, stuck = around.motion.reach == 0, np.isnan(around.bar_end(link)[..., 0])
        return np.where(reached, np.where(stuck, -1.0, clear_deg(cosine)), np.nan)

    return Watched("reach", name, 0.0, value, partial(least_clear_deg, cosine))


def moving_parts(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> Iterator[MovingPart]:
    """Rod and outer housing of M candidates at their poses (M, T), parameters as for `gaps`."""
    case, corner = evaluator.case, evaluator.corner
    around = Surroundings(corner, mirror_of(case), settings.linkage, motion)
    outer_now, inner_now = evaluator.rod_ends(settings, motion, rack)
    rod = Capsule(inner_now, outer_now, np.asarray(0.5 * case.joint.rod_diameter))
    yield MovingPart("rod", case.words.short_rod, rod, None, around)
    outer, _ = corner.pivots(settings)
    radius = 0.5 * case.joint.housing_diameter
    bolt = max(0.0, 0.5 * case.joint.housing_height - radius) * corner.bolt_axis
    measured = _about(outer[:, None, :], bolt, radius)
    housing = _about(outer_now, turned(motion.rotation, bolt), radius)
    yield MovingPart("outer joint", "outer joint", housing, measured, around)


def _about(center: Array, half: Array, radius: float) -> Capsule:
    return Capsule(center - half, center + half, np.asarray(radius))
