"""What may hold an upright: each condition says what it leaves open, and how that changes.

With R the rotation of the upright and c its wheel center, a point that was measured at an arm r
from the wheel center is at c + R r.  What has to vanish is, in millimeters,

    link, tie rod    |c + R r - end| - length
    damper rod       (R n) . (top - c) - n . r      n each of two unit vectors square to the rod
    wheel center     c_z - height
    point in a plane n . (c + R r) - distance
    held toe         s_x cos(toe) - s_y sin(toe)    s the spin axis turned by R; times `ARM`

A small turn w about the wheel center and a small move v shift the point by w x R r + v, which
gives every row of the Jacobian exactly.
"""

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import ClassVar, Self

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array, cross, dot, norm, product, turned

ARM = 300.0  # turns are counted as the move of a point this far from the wheel center [mm]

Rows = NDArray[np.intp] | NDArray[np.bool_] | tuple[NDArray[np.intp] | None, ...]


@dataclass(frozen=True)
class Pose:
    """Where a body is: `rotation` (..., 3, 3) since measured, and `center` (..., 3). [mm]

    The center of an upright is its wheel center.  An axle beam carries two knuckles, which have
    turned in it by `turns` (..., 2); of an upright these are (..., 0). [rad]
    """

    rotation: Array
    center: Array
    turns: Array

    @staticmethod
    def rigid(rotation: Array, center: Array) -> "Pose":
        """Pose (...) of a body in which nothing turns."""
        return Pose(rotation, center, np.zeros((*center.shape[:-1], 0)))

    @staticmethod
    def measured(center: Array, pins: int = 0) -> "Pose":
        """Pose (...) at which the car was measured, from the center (..., 3) there. [mm]"""
        shape = center.shape[:-1]
        return Pose(np.broadcast_to(np.eye(3), (*shape, 3, 3)), center, np.zeros((*shape, pins)))

    def moved(self, step: Array) -> "Pose":
        """Pose after a turn about the center, a move and what turns in the body, (..., 6 + T). [mm]

        Turns count times `ARM`.  The first three are twice the turn's Rodrigues parameters: to
        first order the rotation vector, and at any size an exact rotation without a sine.
        """
        half = step[..., :3] / (2.0 * ARM)
        x, y, z = half[..., 0], half[..., 1], half[..., 2]
        turn = np.empty((*half.shape, 3), order="F")
        turn[..., 0, 0], turn[..., 0, 1], turn[..., 0, 2] = -y * y - z * z, x * y - z, x * z + y
        turn[..., 1, 0], turn[..., 1, 1], turn[..., 1, 2] = x * y + z, -x * x - z * z, y * z - x
        turn[..., 2, 0], turn[..., 2, 1], turn[..., 2, 2] = x * z - y, y * z + x, -x * x - y * y
        turn *= (2.0 / (1.0 + x * x + y * y + z * z))[..., None, None]
        return Pose(
            self.rotation + product(turn, self.rotation),
            self.center + step[..., 3:6],
            self.turns + step[..., 6:] / ARM,
        )

    def taken(self, rows: Rows) -> "Pose":
        """Some of the poses, copied."""
        parts = (self.rotation, self.center, self.turns)
        return Pose(*(np.asfortranarray(part[rows]) for part in parts))

    def reshaped(self, shape: tuple[int, ...]) -> "Pose":
        """The poses with other leading axes."""
        turns = self.turns.reshape(*shape, self.turns.shape[-1])
        return Pose(self.rotation.reshape(*shape, 3, 3), self.center.reshape(*shape, 3), turns)

    def put(self, rows: Rows, poses: "Pose") -> None:
        """Overwrite some of the poses."""
        self.rotation[rows], self.center[rows] = poses.rotation, poses.center
        self.turns[rows] = poses.turns


@dataclass(frozen=True)
class Stacked:
    """Arrays with the same leading axes."""

    axes: ClassVar[tuple[int, ...]]  # how many axes each field has beside the leading ones

    def taken(self, rows: Rows) -> Self:
        """What belongs to some of the poses."""
        return type(self)(*(np.asfortranarray(value[rows]) for value, _ in self._values()))

    def over(self, shape: tuple[int, ...]) -> Self:
        """The same with its leading axes broadcast to `shape`."""
        return type(self)(*(broadcast(value, shape, own) for value, own in self._values()))

    def between(self, other: Self, share: Array) -> Self:
        """Partway (P,) from here, 0, to where another one with the same axes is, 1."""
        pairs = zip(self._values(), other._values(), strict=True)
        return type(self)(*(partway(a, b, share, own) for (a, own), (b, _) in pairs))

    @property
    def leading(self) -> tuple[int, ...]:
        """The leading axes that all fields broadcast to."""
        shapes = ((np.shape(value), own) for value, own in self._values())
        return np.broadcast_shapes(*(shape[: len(shape) - own] for shape, own in shapes))

    def _values(self) -> Iterator[tuple[Array, int]]:
        return zip((getattr(self, field.name) for field in fields(self)), self.axes, strict=True)


@dataclass(frozen=True)
class Condition(Stacked, ABC):
    """Something that must hold at a pose."""

    @abstractmethod
    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """What is left open, (..., C) [mm], and its Jacobian to `Pose.moved`.

        That has a column for each number of the step, (..., C, 6 + T), or (..., C, 6) if nothing
        depends on what turns in the body.
        """

    def unsteered(self) -> "Condition":
        """What is left of it while nothing steers: all, unless it says otherwise."""
        return self


@dataclass(frozen=True)
class LinkLengths(Condition):
    """Links from `ends` in the chassis to `arms`, both (..., K, 3), have `lengths` (..., K)."""

    ends: Array
    arms: Array
    lengths: Array
    axes = (2, 2, 1)

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        arms = turned(pose.rotation[..., None, :, :], self.arms)
        span = pose.center[..., None, :] + arms - self.ends
        now = norm(span)
        along = span / np.where(now == 0.0, np.nan, now)[..., None]
        return now - self.lengths, _rates(cross(arms, along), along)


@dataclass(frozen=True)
class TopOnDamperRod(Condition):
    """`top` (..., 3) stays in two planes of the upright that meet in the damper rod's line.

    They have `normals` (..., 2, 3) and `distances` (..., 2) from the wheel center, as measured.
    """

    top: Array
    normals: Array
    distances: Array
    axes = (1, 2, 1)

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        normals = turned(pose.rotation[..., None, :, :], self.normals)
        to_top = (self.top - pose.center)[..., None, :]
        beside = dot(normals, to_top) - self.distances
        return beside, _rates(cross(normals, to_top), -normals)


@dataclass(frozen=True)
class CenterHeight(Condition):
    """The wheel center stands at `height` (...)."""

    height: Array
    axes = (0,)

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        jacobian = np.zeros((*pose.center.shape[:-1], 1, 6), order="F")
        jacobian[..., 5] = 1.0
        return (pose.center[..., 2] - self.height)[..., None], jacobian


@dataclass(frozen=True)
class PointInPlane(Condition):
    """The point at an `arm` (..., 3) stays in a plane of the chassis.

    That has a unit `normal` (..., 3) and is a `distance` (...) along it from the origin.
    """

    arm: Array
    normal: Array
    distance: Array
    axes = (1, 1, 0)

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        arm = turned(pose.rotation, self.arm)
        beside = dot(self.normal, pose.center + arm) - self.distance
        rates = _rates(cross(arm, self.normal), np.broadcast_to(self.normal, arm.shape))
        return beside[..., None], rates[..., None, :]


@dataclass(frozen=True)
class HeldToe(Condition):
    """The spin axis, `spin` (..., 3) as measured, stays square to `across` (..., 3)."""

    spin: Array
    across: Array
    axes = (1, 1)

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """See `Condition.rows`."""
        spin = turned(pose.rotation, self.spin)
        turn = ARM * cross(spin, self.across)[..., None, :]
        return ARM * dot(spin, self.across)[..., None], _rates(turn, np.zeros_like(turn))


def broadcast(value: Array, shape: tuple[int, ...], own: int) -> Array:
    """An array with its leading axes, all but the last `own`, broadcast to `shape`."""
    value = np.asarray(value)
    whole = (*shape, *value.shape[value.ndim - own :])
    return value if value.shape == whole else np.broadcast_to(value, whole)


def partway(start: Array, end: Array, share: Array, own: int) -> Array:
    """Arrays with `own` axes beside the leading ones, a share (...) of the way between them."""
    between: Array = start + share[(..., *[None] * own)] * (end - start)
    return between


def _rates(turn: Array, move: Array) -> Array:
    return np.concatenate([turn / ARM, move], axis=-1)
