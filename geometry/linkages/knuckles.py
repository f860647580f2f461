"""Knuckles on an axle beam: each turns in it about a kingpin, and a cross rod joins the two.

With R and c the pose of the beam, a knuckle that has turned by T about its kingpin is itself a body
of rotation R T, whose center is the wheel center.  So what may hold an upright may hold a knuckle.
A rate against the knuckle's turn w and move v becomes one against the beam's turn u and move m and
the turn q about the kingpin, of present direction a and at an arm b from the wheel center, by

    w = u + q a        v = m + u x (wheel center - c) + q a x b
"""

from dataclasses import dataclass, replace

import numpy as np

from geometry.linkages.conditions import ARM, Condition, LinkLengths, Pose, Rows, Stacked
from geometry.vectors import Array, cross, dot, rotation_about, turned


@dataclass(frozen=True)
class Knuckles(Stacked):
    """K knuckles as measured, the left one first: all that there are, or the left one alone.

    Each has a point of the kingpin, the kingpin's unit direction and the wheel center, (..., K, 3);
    both points are counted from the center of the beam. [mm]
    """

    kingpin: Array
    direction: Array
    wheel_center: Array
    axes = (2, 2, 2)

    def poses(self, beam: Pose) -> Pose:
        """Where a beam (...) has carried them and they have turned, (..., K)."""
        turn = rotation_about(self.direction, beam.turns[..., : self.direction.shape[-2]])
        rotation = beam.rotation[..., None, :, :]
        place = self.kingpin + turned(turn, self.wheel_center - self.kingpin)
        center = beam.center[..., None, :] + turned(rotation, place)
        return Pose.rigid(rotation @ turn, center)

    def rates(self, beam: Pose, knuckles: Pose, rates: Array) -> Array:
        """Jacobians to `Pose.moved` of the beam from those of each knuckle's own pose.

        Takes (..., K, C, 6), gives (..., K, C, 8).
        """
        turn, move = rates[..., :3], rates[..., 3:]
        to_center = (knuckles.center - beam.center[..., None, :])[..., None, :]
        direction = turned(beam.rotation[..., None, :, :], self.direction)
        swing = cross(direction, turned(knuckles.rotation, self.wheel_center - self.kingpin))
        about_kingpin = dot(turn, direction[..., None, :]) + dot(move, swing[..., None, :]) / ARM
        out = np.zeros((*rates.shape[:-1], 6 + beam.turns.shape[-1]))
        out[..., :3] = turn + cross(to_center, move) / ARM
        out[..., 3:6] = move
        for k in range(rates.shape[-3]):
            out[..., k, :, 6 + k] = about_kingpin[..., k, :]
        return out


@dataclass(frozen=True)
class OnKnuckles(Condition):
    """Each of K knuckles has to meet a condition, whose leading axes are (..., K)."""

    knuckles: Knuckles
    held: Condition

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        knuckles = self.knuckles.poses(pose)
        left_open, rates = self.held.rows(knuckles)
        rates = self.knuckles.rates(pose, knuckles, rates)
        leading = pose.center.shape[:-1]
        return left_open.reshape(*leading, -1), rates.reshape(*leading, -1, rates.shape[-1])

    def taken(self, rows: Rows) -> "OnKnuckles":
        """See `Stacked.taken`."""
        return type(self)(self.knuckles.taken(rows), self.held.taken(rows))

    def over(self, shape: tuple[int, ...]) -> "OnKnuckles":
        """See `Stacked.over`."""
        count = self.knuckles.direction.shape[-2]
        return type(self)(self.knuckles.over(shape), self.held.over((*shape, count)))


@dataclass(frozen=True)
class CrossRod(OnKnuckles):
    """The rod between two knuckles keeps its length; to each, the other holds its far end."""

    held: LinkLengths

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        knuckles = self.knuckles.poses(pose)
        ends = knuckles.center[..., None, :]
        ends = ends + turned(knuckles.rotation[..., None, :, :], self.held.arms)
        rod = replace(self.held, ends=ends[..., ::-1, :, :])
        left_open, rates = rod.rows(knuckles)
        both = self.knuckles.rates(pose, knuckles, rates)
        return left_open[..., 0, :], both[..., 0, :, :] + both[..., 1, :, :]


def on_left_knuckle(knuckles: Knuckles, held: Condition) -> OnKnuckles:
    """The condition (...) on the first knuckle alone."""
    left = Knuckles(
        knuckles.kingpin[..., :1, :],
        knuckles.direction[..., :1, :],
        knuckles.wheel_center[..., :1, :],
    )
    return OnKnuckles(left, held.lifted())
