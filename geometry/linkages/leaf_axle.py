"""Leaf-sprung axle: two leaf springs carry the beam, and hold it fore and aft, sideways, in pitch.

A half of a leaf that bends evenly takes its eye around the seat on an arc of 3/4 of the half's
length, about a point at 1/4 of it from the seat.  With u the angle by which a half of length L is
bent, the eye stands from that point at

    L (3/4 - u^2/6 + u^4/120 - ..., u/2 - u^3/24 + ...)      3/4 L (1 - u^4/810 + ...) away

so a rigid link between the eye and that point of the beam stands for the half (derived here; as the
linkage that SAE HS-788, Manual on Design and Application of Leaf Springs, lays out the motion of an
axle by, from memory).  The other half stands for itself likewise, down to the shackle.
"""

from dataclasses import dataclass

import numpy as np

from geometry.linkages.axle import MIDDLE, Axle, both_sides
from geometry.linkages.conditions import Condition, LinkLengths, PointInPlane
from geometry.linkages.even_bending import (
    SIDE_VIEW,
    EvenBending,
    arc_length,
    circles_meet,
    square_to,
)
from geometry.vectors import Array, dot, norm, turned, unit

LINK_END = 0.25  # of a half's length, from the seat
SIDEWAYS, UP = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, kw_only=True)
class LeafAxle(Axle):
    """An axle on two leaf springs, as measured, each point (..., 3). [mm]

    The left spring runs from the `spring_eye`, a pivot in the chassis ahead of or behind the axle,
    over the `spring_seat` on the beam to the `shackle_spring`, its eye in the shackle; that hangs
    from `shackle_frame` and swings fore and aft.  The right spring is its mirror image.  As
    measured, each is taken for an arc of a circle.

    A `lift_block` (...) stands the springs so much higher on the beam than they were measured, and
    the shackles are `shackle_longer` (...) than they were. [mm]
    """

    spring_eye: Array
    spring_seat: Array
    shackle_spring: Array
    shackle_frame: Array
    lift_block: Array | float = 0.0
    shackle_longer: Array | float = 0.0

    def holding(self) -> tuple[Condition, ...]:
        """See `Axle.holding`: two links, the seats' middle held sideways, halves bent alike.

        Leaves give far less sideways than up and down, so the middle between the seats keeps its
        place across the car.  How the halves bend holds the beam's pitch (`EvenBending`).
        """
        eye_joint, shackle_joint = self._joints()
        links = LinkLengths(
            both_sides(self.spring_eye),
            self._carried(eye_joint),
            _alike(norm(self.spring_eye - eye_joint)),
        )
        middle = self._carried(self.spring_seat)[..., 0, :] * MIDDLE
        held = PointInPlane(middle, SIDEWAYS, np.zeros(()))
        return links, held, self._bending(shackle_joint)

    def leaf(self, rotation: Array, center: Array) -> Array:
        """Where the left leaf and its shackle are with the beam at a pose, (..., 5, 3). [mm]

        The eye, the ends in the beam of the links to eye and shackle, the leaf's end, its
        shackle's pin; `rotation` (..., 3, 3) and `center` (..., 3) are the beam's.
        """
        bending = self._bending(self._joints()[1])
        carried = [self._carried(joint)[..., 0, :] for joint in self._joints()]
        to_eye, to_shackle = (center + turned(rotation, joint) for joint in carried)
        pin, *lengths = (
            bending.pin[..., 0, :],
            *(part[..., 0] for part in (bending.link, bending.shackle, bending.side)),
        )
        end = circles_meet(to_shackle, pin, *lengths)
        places = (self.spring_eye, to_eye, to_shackle, end, pin)
        return np.stack(np.broadcast_arrays(*places), axis=-2)

    def _tangent(self) -> Array:
        """Direction of the leaf at its seat, toward the eye, seen from the side, unit (..., 3).

        Inversion about the seat makes a straight line of the circle through eye, seat and shackle.
        """
        eye, shackle = (end / dot(end, end)[..., None] for end in self._chords())
        return unit(eye - shackle)

    def _chords(self) -> tuple[Array, Array]:
        """From the seat to the eye and to the shackle, seen from the side, (..., 3) each. [mm]"""
        eye, shackle = (end - self.spring_seat for end in (self.spring_eye, self.shackle_spring))
        return eye * SIDE_VIEW, shackle * SIDE_VIEW

    def _halves(self) -> tuple[Array, Array]:
        """Lengths of the leaf from its seat to the eye and to the shackle, (...) each. [mm]"""
        along, (eye, shackle) = self._tangent(), self._chords()
        return arc_length(eye, along), arc_length(shackle, -along)

    def _joints(self) -> tuple[Array, Array]:
        """Where the links of both halves end in the beam as measured, (..., 3) each. [mm]"""
        along = self._tangent()
        eye, shackle = (LINK_END * half[..., None] * along for half in self._halves())
        return self.spring_seat + eye, self.spring_seat - shackle

    def _carried(self, point: Array) -> Array:
        """A point of both springs as seen from the beam's center, (..., 3) to (..., 2, 3). [mm]"""
        up = _square_up(self._tangent())
        return both_sides(point + np.asarray(self.lift_block)[..., None] * up - self.center)

    def _bending(self, joint: Array) -> EvenBending:
        along = self._tangent()
        end, pin = self.shackle_spring, self.shackle_frame * SIDE_VIEW
        pin = pin + self.shackle_spring * SIDEWAYS
        to_eye, to_shackle = self._halves()
        return EvenBending(
            eye=both_sides(self.spring_eye),
            pin=both_sides(pin),
            seat=self._carried(self.spring_seat),
            joint=self._carried(joint),
            along=both_sides(along),
            up=both_sides(_square_up(along)),
            to_eye=_alike(to_eye),
            to_shackle=_alike(to_shackle),
            link=_alike(norm(end - joint)),
            shackle=_alike(norm(end - pin) + self.shackle_longer),
            side=_alike(np.sign(dot(end - joint, square_to(pin - joint)))),
        )


def _square_up(along: Array) -> Array:
    """The direction square to a leaf at its seat that points up, unit (..., 3)."""
    return unit(UP - along[..., 2, None] * along)


def _alike(value: Array) -> Array:
    """What both springs have, (...) to (..., 2)."""
    return np.stack([value, value], axis=-1)
