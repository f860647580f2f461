"""What may be moved on a car to set its camber and caster, and what moving it does.

A part moves in the chassis, or turns against the strut; links and arms keep their lengths, and the
damper rod its line in the upright.
"""

import dataclasses

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.linkages import ArmLinkage, Axle, LinkSet
from geometry.linkages.link_set import side_by_side
from geometry.motion import Rod, rod_motion, toe_held_motion
from geometry.vectors import Array, norm, rotation_about, turned
from geometry.wheel_angles import camber_angle, caster_angle
from optimizer.car.adjust import Corner, corner_of, mirror_of
from optimizer.car.remeasured import Remeasured, is_in_chassis
from optimizer.models.alignment import Alignment
from optimizer.models.case import Case

TURN_ARM = 300.0  # a turn against the strut is counted as the move of a point so far off [mm]

FORWARD, LEFT = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])


class Knob(Struct, frozen=True):
    """What one amount moves: points of the chassis, a unit vector each, or the upright's turn."""

    points: dict[str, Array]
    turns: bool = False


class Aligner(Struct, frozen=True):
    """A left wheel's suspension as measured, and what may be moved on it.

    `height` is ride height above the measured pose and `bolt` the point that the upright turns
    about. [mm]
    """

    corner: Corner
    knobs: tuple[Knob, ...]
    bolt: Array
    height: float
    toe_deg: float

    @staticmethod
    def of(case: Case, alignment: Alignment) -> "Aligner":
        """Prepare a case."""
        toe = case.wheel.toe_deg if case.ride.toe_deg is None else case.ride.toe_deg
        bolt = np.array(alignment.bolt or (0.0, 0.0, 0.0)) * mirror_of(case)
        return Aligner(
            corner_of(case),
            knobs_of(alignment),
            bolt,
            case.ride.lowered_by,
            toe,
        )

    def moves(self, amounts: Array) -> dict[str, Array]:
        """How far each point of the chassis is moved, (3,) each. [mm]."""
        found: dict[str, Array] = {}
        for knob, amount in zip(self.knobs, amounts, strict=True):
            for name, way in knob.points.items():
                found[name] = found.get(name, np.zeros(3)) + amount * way
        return found

    def turn(self, amounts: Array) -> float:
        """How far the upright is turned against the strut, top outboard positive. [rad]."""
        parts = zip(self.knobs, amounts, strict=True)
        return float(sum(amount for knob, amount in parts if knob.turns)) / TURN_ARM

    def turn_deg(self, amounts: Array) -> float:
        """How far the upright is turned against the strut, top outboard positive. [deg]."""
        return float(np.degrees(self.turn(amounts)))

    def remeasured(self, amounts: Array) -> Remeasured:
        """The car at the measured height with its part moved, its rod left alone; NaN if none."""
        corner, shifts = self.corner, self.moves(amounts)
        turn = rotation_about(FORWARD, np.array(self.turn(amounts)))
        strut: dict[str, Array] = {
            name: self.bolt + turned(turn, corner.points[name] - self.bolt)
            for name in ("strut_top", "strut_axis")
            if name in corner.points
        }
        shifted = {
            name: point + shifts.get(name, 0.0) if is_in_chassis(name) else strut.get(name, point)
            for name, point in corner.points.items()
        }
        length = norm(corner.outer_seat - corner.inner)
        rod = Rod(corner.inner, corner.outer_seat, length)
        links = _refitted(_links(corner), _links(replace(corner, points=shifted)), strut)
        motion = rod_motion(links, np.zeros(()), rod)
        carried = {
            name: point if is_in_chassis(name) else motion.moved(point)
            for name, point in shifted.items()
        }
        now = replace(
            corner,
            points=carried,
            outer_seat=motion.moved(corner.outer_seat),
            spin=turned(motion.rotation, corner.spin),
            stud_axis=turned(motion.rotation, corner.stud_axis),
            bolt_axis=turned(motion.rotation, corner.bolt_axis),
            drop_axis=turned(motion.rotation, corner.drop_axis),
        )
        return Remeasured(corner, now, motion)

    def angles(self, amounts: Array) -> Array:
        """Camber and caster at ride height with static toe, (2,); NaN out of reach. [rad]."""
        corner = self.remeasured(amounts).now
        linkage, toe = corner.linkage(), np.radians(np.array(self.toe_deg))
        held = toe_held_motion(linkage, np.array(self.height), corner.spin, toe)
        spin = turned(held.rotation, corner.spin)
        return np.array([camber_angle(spin), caster_angle(held.steering_axis)])


def knobs_of(alignment: Alignment) -> tuple[Knob, ...]:
    """Moves that set the wanted angles, one an angle; left out, an angle moves nothing."""
    camber, caster = alignment.camber_deg is not None, alignment.caster_deg is not None
    if alignment.by == "strut-bolts":
        return (Knob({}, turns=True),)
    if alignment.by == "strut-top":
        wanted = ((camber, LEFT), (caster, FORWARD))
        return tuple(Knob({"strut_top": way}) for asked, way in wanted if asked)
    front, rear = (f"{alignment.by.replace('-', '_')}_{end}" for end in ("front", "rear"))
    if camber and caster:
        return Knob({front: LEFT}), Knob({rear: LEFT})
    return (Knob({front: LEFT, rear: LEFT if camber else -LEFT}),)


def amount_of_turn(turn_deg: float) -> float:
    """Amount of the knob that turns the upright by an angle. [mm]."""
    return float(np.radians(turn_deg)) * TURN_ARM


def _links(corner: Corner) -> LinkSet:
    linkage = corner.measured_linkage
    assert not isinstance(linkage, Axle)  # it has no means that could be moved
    return linkage.link_set() if isinstance(linkage, ArmLinkage) else linkage


def _refitted(measured: LinkSet, shifted: LinkSet, strut: dict[str, Array]) -> LinkSet:
    """Links as long as measured between the ends of shifted ones; `strut` is in the upright."""
    links = dataclasses.replace(measured, chassis_ends=shifted.chassis_ends)
    if shifted.strut_line is None:
        return links
    line = side_by_side(strut["strut_top"], strut["strut_axis"])
    return dataclasses.replace(links, strut_line=line, strut_top=shifted.strut_line[..., 0, :])
