"""What must close in a linkage: one residual that solves some layouts and checks them all."""

from dataclasses import dataclass

import numpy as np

from geometry.linkages.conditions import (
    CenterHeight,
    Condition,
    HeldToe,
    LinkLengths,
    Pose,
    Rows,
    TopOnDamperRod,
    broadcast,
)
from geometry.linkages.link_set import LinkSet
from geometry.vectors import Array, cross, dot, unit


@dataclass(frozen=True)
class Closure:
    """All conditions on an upright whose wheel center was measured at `center` (..., 3). [mm]

    Links and damper rod make four, wheel height the fifth; a tie rod or a held toe is the sixth.
    """

    center: Array
    conditions: tuple[Condition, ...]

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """What a pose leaves open, and how that changes with `Pose.moved`.

        Parameters
        ----------
        pose : Pose
            Leading axes broadcast with those of the closure.

        Returns
        -------
        (..., C) float array, (..., C, 6) float array
            The residual, 0 where everything closes [mm], and its exact Jacobian.
        """
        parts = [condition.rows(pose) for condition in self.conditions]
        residual = np.concatenate([part[0] for part in parts], axis=-1)
        return residual, np.concatenate([part[1] for part in parts], axis=-2)

    def measured(self) -> Pose:
        """Pose at which the car was measured."""
        return Pose(np.zeros((*self.center.shape, 3)) + np.eye(3), self.center.copy())

    def taken(self, rows: Rows) -> "Closure":
        """The closure of some of the poses."""
        parts = tuple(condition.taken(rows) for condition in self.conditions)
        return Closure(self.center[rows], parts)

    def steered_by(self, steer: Condition, shape: tuple[int, ...]) -> "Closure":
        """The same with a sixth condition, whose leading axes broadcast to `shape`."""
        shape = np.broadcast_shapes(self.center.shape[:-1], shape)
        parts = (*self.conditions, steer)
        return Closure(broadcast(self.center, shape, 1), tuple(part.over(shape) for part in parts))

    def unsteered(self) -> "Closure":
        """The same without the sixth condition: one freedom is left."""
        return Closure(self.center, self.conditions[:-1])


def link_closure(links: LinkSet, travel: Array) -> Closure:
    """What holds an upright at a wheel travel (...) while nothing steers it. [mm]"""
    center = links.wheel_center
    arms = links.upright_ends - center[..., None, :]
    height = center[..., 2] + travel
    conditions: list[Condition] = [LinkLengths(links.chassis_ends, arms, links.lengths)]
    leading = [links.chassis_ends.shape[:-2], arms.shape[:-2], height.shape]
    if links.strut_line is not None:
        top, second = links.strut_line[..., 0, :], links.strut_line[..., 1, :]
        normals = _square_pair(top - second)
        distances = dot(normals, (second - center)[..., None, :])
        conditions.append(TopOnDamperRod(top, normals, distances))
        leading.append(distances.shape[:-1])
    conditions.append(CenterHeight(height))
    shape = np.broadcast_shapes(*leading)
    return Closure(broadcast(center, shape, 1), tuple(part.over(shape) for part in conditions))


def rod_closure(
    links: LinkSet, travel: Array, inner: Array, outer: Array, length: Array
) -> Closure:
    """Closure with a tie rod of `length` (...) between pivots (..., 3) as measured. [mm]"""
    arm = outer - links.wheel_center
    rod = LinkLengths(inner[..., None, :], arm[..., None, :], np.asarray(length)[..., None])
    shape = np.broadcast_shapes(inner.shape[:-1], arm.shape[:-1], np.shape(length))
    return link_closure(links, travel).steered_by(rod, shape)


def toe_held_closure(links: LinkSet, travel: Array, spin: Array, toe: Array) -> Closure:
    """Closure with a toe (...) [rad], positive toe-in, held on a spin axis (..., 3)."""
    across = np.stack([np.cos(toe), -np.sin(toe), np.zeros(np.shape(toe))], axis=-1)
    shape = np.broadcast_shapes(spin.shape[:-1], np.shape(toe))
    return link_closure(links, travel).steered_by(HeldToe(spin, across), shape)


def _square_pair(line: Array) -> Array:
    """Two unit vectors square to a line and to each other, (..., 3) to (..., 2, 3)."""
    least = np.eye(3)[np.argmin(np.abs(line), axis=-1)]
    first = unit(cross(line, least))
    return np.stack([first, cross(unit(line), first)], axis=-2)
