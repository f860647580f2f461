"""What pitches a leaf-sprung axle: without a torque on it both halves of a leaf are bent alike.

A leaf of even strength that carries load at its seat has one curvature on both sides of it; a
torque about the axle, as brakes make, would bend one half more and the other less.  Two springs
share the pitch of a stiff beam, so what one of them is wound up the other is wound back:

    the sum over both springs of (curvature, seat to eye - curvature, seat to shackle) is 0

Seen from the side, a half of length L whose chord stands at an angle t to the leaf at its seat is
an arc of curvature 2 t / L.  The eye is where the chassis has it.  The leaf's end at the shackle,
P, is where the link that stands for that half, from the joint J in the beam, meets the shackle,
about its pin H: two circles in P's plane along the car.
"""

from dataclasses import dataclass

import numpy as np

from geometry.linkages.conditions import ARM, Condition, Pose
from geometry.vectors import Array, cross, dot, turned, vectors

SIDE_VIEW = np.array([1.0, 0.0, 1.0])


@dataclass(frozen=True)
class EvenBending(Condition):
    """The beam is pitched as its two springs, together not wound up, have it. [mm]

    Of each spring, so (..., 2, 3), the chassis has the `eye` and the `pin` H in P's plane.  The
    beam has, seen from its center, the `seat` and the `joint` J, and unit vectors `along` the leaf
    toward the eye and `up` from it.  (..., 2) are the lengths of the halves, `to_eye` and
    `to_shackle`, of `link` and `shackle`, and the `side` of the line from J to H on which P is.
    """

    eye: Array
    pin: Array
    seat: Array
    joint: Array
    along: Array
    up: Array
    to_eye: Array
    to_shackle: Array
    link: Array
    shackle: Array
    side: Array
    axes = (2, 2, 2, 2, 2, 2, 1, 1, 1, 1, 1)

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`; counts as the move of a point at `ARM` by the pitch that is off."""
        seat, joint, along, up = (
            turned(pose.rotation[..., None, :, :], part)
            for part in (self.seat, self.joint, self.along, self.up)
        )
        eye, pin = (part - pose.center[..., None, :] for part in (self.eye, self.pin))
        end = circles_meet(joint, pin, self.link, self.shackle, self.side)
        angles, grows = zip(
            _chord(eye - seat, along, up), _chord(end - seat, -along, up), strict=True
        )
        # P swings about H, so far that the link from J, which the beam moves, stays as long.
        link, swing = end - joint, square_to(end - pin)
        pulled = (dot(grows[1], swing) / dot(link, swing))[..., None] * link
        turns = (-cross(eye, grows[0]), cross(joint, pulled) - cross(end, grows[1]))
        moves = (-grows[0], pulled - grows[1])
        wound = self._wound(*(angle[..., None] for angle in angles))
        turn, move = self._wound(*turns), self._wound(*moves)
        return wound, np.concatenate([turn / ARM, move], axis=-1)[..., None, :]

    def _wound(self, to_eye: Array, to_shackle: Array) -> Array:
        """What angles, or rates of them, (..., 2, K), wind both springs up, (..., K)."""
        eye, shackle = 1.0 / self.to_eye, 1.0 / self.to_shackle
        wound = eye[..., None] * to_eye - shackle[..., None] * to_shackle
        per_pitch = (eye + shackle).sum(axis=-1)
        together: Array = ARM * wound.sum(axis=-2) / per_pitch[..., None]
        return together


def arc_length(chord: Array, along: Array) -> Array:
    """Length of a circle's arc over a chord (..., 3) that leaves it along a unit vector. [mm]"""
    length = np.sqrt(dot(chord, chord))
    angle = np.arccos(np.clip(dot(chord, along) / length, -1.0, 1.0))
    arc: Array = length / np.sinc(angle / np.pi)
    return arc


def circles_meet(first: Array, second: Array, near: Array, far: Array, side: Array) -> Array:
    """Point that is `near` one point in space and `far` from another one, seen from the side.

    Parameters
    ----------
    first, second : (..., 3) float array
        Both points; the wanted one has the second one's y. [mm]
    near, far : (...) float array
        Its distances from the first and the second. [mm]
    side : (...) float array
        +1 where the way from the first to the second is turned from forward to up to get to it, -1
        where it is turned the other way.

    Returns
    -------
    (..., 3) float array
        The point, NaN where there is none. [mm]
    """
    way = (second - first) * SIDE_VIEW
    apart = dot(way, way)
    near_squared = near * near - (second - first)[..., 1] ** 2
    share = 0.5 + 0.5 * (near_squared - far * far) / apart
    left = near_squared / apart - share * share
    aside = side * np.sqrt(np.where(left < 0.0, np.nan, left))
    point: Array = first + share[..., None] * way + aside[..., None] * square_to(way)
    point[..., 1] = second[..., 1]
    return point


def square_to(way: Array) -> Array:
    """A vector (..., 3) seen from the side, turned by a right angle from forward to up."""
    return vectors(-way[..., 2], 0.0, way[..., 0])


def _chord(chord: Array, along: Array, up: Array) -> tuple[Array, Array]:
    """Angle (...) of a chord up from a leaf, and how it grows per move of its far end, (..., 3)."""
    ahead, above = dot(chord, along), dot(chord, up)
    square = (ahead * ahead + above * above)[..., None]
    return np.arctan2(above, ahead), (ahead[..., None] * up - above[..., None] * along) / square
