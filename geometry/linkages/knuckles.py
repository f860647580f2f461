"""Knuckles on an axle beam: each turns in it about a kingpin, and a cross rod joins the two.

With R and c the pose of the beam, a knuckle that has turned by T about its kingpin is itself a body
of rotation R T, whose center is the wheel center.  So what may hold an upright may hold a knuckle.
A rate against the knuckle's turn w and move v becomes one against the beam's turn u and move m and
the turn q about the kingpin, of present direction a and at an arm b from the wheel center, by

    w = u + q a        v = m + u x (wheel center - c) + q a x b

The cross rod goes along with the beam: what the beam does leaves it as long as it is, so it depends
on the two turns about the kingpins alone.
"""

from dataclasses import dataclass

import numpy as np

from geometry.linkages.conditions import (
    ARM,
    CenterHeight,
    Condition,
    Pose,
    Rows,
    Stacked,
)
from geometry.vectors import Array, cross, dot, norm, product, rotation_about, turned


@dataclass(frozen=True)
class CarriedKnuckles:
    """Where a beam has carried K knuckles, `poses` (..., K), and how they move with it.

    `pin` is the point of the kingpin and `arm` the wheel center as seen from the center of the
    beam, `kingpin` the kingpin's direction and `swing` the move of the wheel center per turn about
    it, all (..., K, 3). [mm]
    """

    poses: Pose
    pin: Array
    arm: Array
    kingpin: Array
    swing: Array

    def pose(self, of: int) -> Pose:
        """Pose (...) of one of the knuckles."""
        return Pose.rigid(self.poses.rotation[..., of, :, :], self.poses.center[..., of, :])

    def rates(self, of: int, rates: Array) -> Array:
        """Jacobian to `Pose.moved` of the beam from that to one knuckle's own pose.

        Takes (..., C, 6), gives (..., C, 8).
        """
        turn, move = rates[..., :3], rates[..., 3:]
        kingpin, swing, arm = (
            part[..., of, None, :] for part in (self.kingpin, self.swing, self.arm)
        )
        out = np.zeros((*rates.shape[:-1], 8), order="F")
        out[..., :3] = turn + cross(arm, move) / ARM
        out[..., 3:6] = move
        out[..., 6 + of] = dot(turn, kingpin) + dot(move, swing) / ARM
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
        pin, swung = turned(rotation, self.kingpin), turned(turn, self.wheel_center - self.kingpin)
        arm = pin + swung
        poses = Pose.rigid(turn, beam.center[..., None, :] + arm)
        return CarriedKnuckles(poses, pin, arm, direction, cross(direction, swung))


@dataclass(frozen=True)
class CrossRod(Stacked):
    """The rod between both knuckles: its `length` (...), and the `arms` (..., 2, 3) of its ends.

    These are counted from the kingpins' points, as measured. [mm]
    """

    arms: Array
    length: Array
    axes = (2, 0)

    def rows(self, carried: CarriedKnuckles) -> tuple[Array, Array]:
        """What is left open (..., 1) [mm], and its Jacobian, see `Condition.rows`."""
        arms = turned(carried.poses.rotation, self.arms)
        ends = carried.pin + arms
        span = ends[..., 0, :] - ends[..., 1, :]
        now = norm(span)
        along = span / np.where(now == 0.0, np.nan, now)[..., None]
        swing = dot(cross(carried.kingpin, arms), along[..., None, :]) / ARM
        jacobian = np.zeros((*now.shape, 1, 8), order="F")
        jacobian[..., 0, 6], jacobian[..., 0, 7] = swing[..., 0], -swing[..., 1]
        return (now - self.length)[..., None], jacobian


@dataclass(frozen=True)
class OnKnuckles(Condition):
    """What both knuckles have to meet: wheel `heights` (..., 2), and unless they turn freely more.

    The `cross_rod` keeps its length, and what steers them, `steer` (...), holds the left one.
    """

    knuckles: Knuckles
    heights: CenterHeight
    cross_rod: CrossRod | None = None
    steer: Condition | None = None

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        carried = self.knuckles.carried(pose)
        left_open = [carried.poses.center[..., 2] - self.heights.height]
        rates = [carried.height_rates()]
        if self.cross_rod is not None and self.steer is not None:
            steer_open, steer_rates = self.steer.rows(carried.pose(0))
            rod_open, rod_rates = self.cross_rod.rows(carried)
            left_open += [rod_open, steer_open]
            rates += [rod_rates, carried.rates(0, steer_rates)]
        return np.concatenate(left_open, axis=-1), np.concatenate(rates, axis=-2)

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
            self.cross_rod and self.cross_rod.over(shape),
            self.steer and self.steer.over(shape),
        )
