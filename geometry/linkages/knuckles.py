"""Knuckles on an axle beam: each turns in it about a kingpin, and a cross rod joins the two.

With R and c the pose of the beam, a knuckle that has turned by T about its kingpin is itself a body
of rotation R T, whose center is the wheel center.  So what may hold an upright may hold a knuckle.
A rate against the knuckle's turn w and move v becomes one against the beam's turn u and move m and
the turn q about the kingpin, of present direction a and at an arm b from the wheel center, by

    w = u + q a        v = m + u x (wheel center - c) + q a x b
"""

from dataclasses import dataclass

import numpy as np

from geometry.linkages.conditions import (
    ARM,
    CenterHeight,
    Condition,
    LinkLengths,
    Pose,
    Rows,
    Stacked,
)
from geometry.vectors import Array, cross, dot, norm, product, rotation_about, turned


@dataclass(frozen=True)
class CarriedKnuckles:
    """Where a beam has carried K knuckles, `poses` (..., K), and how they move with it.

    `arm` is the wheel center as seen from the center of the beam, `kingpin` the kingpin's direction
    and `swing` the move of the wheel center per turn about it, all (..., K, 3). [mm]
    """

    poses: Pose
    arm: Array
    kingpin: Array
    swing: Array

    def left(self) -> "CarriedKnuckles":
        """The first of them alone."""
        pose = self.poses
        first = Pose(pose.rotation[..., :1, :, :], pose.center[..., :1, :], pose.turns[..., :1, :])
        parts = (self.arm, self.kingpin, self.swing)
        return CarriedKnuckles(first, *(part[..., :1, :] for part in parts))

    def rates(self, rates: Array) -> Array:
        """Jacobians to `Pose.moved` of the beam from those of each knuckle's own pose.

        Takes (..., K, C, 6), gives (..., K, C, 8).
        """
        turn, move = rates[..., :3], rates[..., 3:]
        kingpin, swing, arm = (part[..., None, :] for part in (self.kingpin, self.swing, self.arm))
        about_kingpin = dot(turn, kingpin) + dot(move, swing) / ARM
        out = np.zeros((*rates.shape[:-1], 8), order="F")
        out[..., :3] = turn + cross(arm, move) / ARM
        out[..., 3:6] = move
        for k in range(rates.shape[-3]):
            out[..., k, :, 6 + k] = about_kingpin[..., k, :]
        return out

    def height_rates(self) -> Array:
        """Rates of the wheel centers' heights to `Pose.moved` of the beam, (..., K, 8)."""
        out = np.zeros((*self.arm.shape[:-1], 8), order="F")
        out[..., 0], out[..., 1] = self.arm[..., 1] / ARM, -self.arm[..., 0] / ARM
        out[..., 5] = 1.0
        for k in range(self.arm.shape[-2]):
            out[..., k, 6 + k] = self.swing[..., k, 2] / ARM
        return out


@dataclass(frozen=True)
class Knuckles(Stacked):
    """Both knuckles as measured, the left one first.

    Each has a point of the kingpin, the kingpin's unit direction and the wheel center, (..., 2, 3);
    both points are counted from the center of the beam. [mm]
    """

    kingpin: Array
    direction: Array
    wheel_center: Array
    axes = (2, 2, 2)

    def carried(self, beam: Pose) -> CarriedKnuckles:
        """Where a beam (...) has carried them and they have turned."""
        rotation = beam.rotation[..., None, :, :]
        direction = turned(rotation, self.direction)
        turn = product(rotation, rotation_about(self.direction, beam.turns))
        swung = turned(turn, self.wheel_center - self.kingpin)
        arm = turned(rotation, self.kingpin) + swung
        poses = Pose.rigid(turn, beam.center[..., None, :] + arm)
        return CarriedKnuckles(poses, arm, direction, cross(direction, swung))


@dataclass(frozen=True)
class OnKnuckles(Condition):
    """What both knuckles have to meet: wheel `heights` (..., 2), and unless they turn freely more.

    The `cross_rod` (..., 2) keeps its length: to each knuckle, the other holds its far end.  What
    steers them, `steer` (...), holds the left one.
    """

    knuckles: Knuckles
    heights: CenterHeight
    cross_rod: LinkLengths | None = None
    steer: Condition | None = None

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        carried = self.knuckles.carried(pose)
        parts = [(carried.poses.center[..., 2] - self.heights.height, carried.height_rates())]
        if self.cross_rod is not None:
            parts.append(_cross_rod_rows(self.cross_rod, carried))
        if self.steer is not None:
            left = carried.left()
            left_open, rates = self.steer.lifted().rows(left.poses)
            parts.append((left_open[..., 0, :], left.rates(rates)[..., 0, :, :]))
        return (
            np.concatenate([part[0] for part in parts], axis=-1),
            np.concatenate([part[1] for part in parts], axis=-2),
        )

    def unsteered(self) -> "OnKnuckles":
        """See `Condition.unsteered`."""
        return OnKnuckles(self.knuckles, self.heights)

    def taken(self, rows: Rows) -> "OnKnuckles":
        """See `Stacked.taken`."""
        return OnKnuckles(
            self.knuckles.taken(rows),
            self.heights.taken(rows),
            self.cross_rod and self.cross_rod.taken(rows),
            self.steer and self.steer.taken(rows),
        )

    def between(self, other: "OnKnuckles", share: Array) -> "OnKnuckles":
        """See `Stacked.between`; all but the heights and what steers stays."""
        steer = self.steer and other.steer and self.steer.between(other.steer, share)
        heights = self.heights.between(other.heights, share[:, None])
        return OnKnuckles(self.knuckles, heights, self.cross_rod, steer)

    def over(self, shape: tuple[int, ...]) -> "OnKnuckles":
        """See `Stacked.over`."""
        return OnKnuckles(
            self.knuckles.over(shape),
            self.heights.over((*shape, 2)),
            self.cross_rod and self.cross_rod.over((*shape, 2)),
            self.steer and self.steer.over(shape),
        )


def _cross_rod_rows(rod: LinkLengths, carried: CarriedKnuckles) -> tuple[Array, Array]:
    arms = turned(carried.poses.rotation, rod.arms[..., 0, :])
    span = carried.poses.center + arms
    span = span[..., :1, :] - span[..., 1:, :]
    now = norm(span)
    along = span / np.where(now == 0.0, np.nan, now)[..., None]
    along = np.concatenate([along, -along], axis=-2)
    both = carried.rates(np.concatenate([cross(arms, along) / ARM, along], axis=-1)[..., None, :])
    return now - rod.lengths[..., 0, :], both[..., 0, :, :] + both[..., 1, :, :]
