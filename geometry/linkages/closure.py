"""What must close in a linkage: one residual that solves some layouts and checks them all."""

from dataclasses import dataclass, replace

import numpy as np

from geometry.linkages.axle import Axle, both_sides
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
from geometry.linkages.knuckles import CrossRod, OnKnuckles
from geometry.linkages.link_set import LinkSet
from geometry.vectors import Array, cross, dot, norm, unit, vectors


@dataclass(frozen=True)
class Closure:
    """All conditions on poses (...) of an upright or of an axle beam.

    An upright is held by four (links, damper rod) and the wheel height, and steered by a tie rod or
    a held toe.  A beam is held by four as well, of links or leaf springs, and by what
    its two knuckles have to meet: the height of both wheels, and what steers them, the cross rod
    and a drag link or a held toe.
    """

    measured: Pose
    holding: tuple[Condition, ...]
    steering: tuple[Condition, ...] = ()

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """What a pose leaves open, and how that changes with `Pose.moved`.

        Parameters
        ----------
        pose : Pose
            Leading axes broadcast with those of the closure.

        Returns
        -------
        (..., C) float array, (..., C, 6 + T) float array
            The residual, 0 where everything closes [mm], and its exact Jacobian.
        """
        parts = [condition.rows(pose) for condition in (*self.holding, *self.steering)]
        residual = np.concatenate([part[0] for part in parts], axis=-1)
        jacobian = np.zeros((*residual.shape, 6 + pose.turns.shape[-1]), order="F")
        row = 0
        for left_open, rates in parts:
            end = row + left_open.shape[-1]
            jacobian[..., row:end, : rates.shape[-1]] = rates
            row = end
        return residual, jacobian

    def taken(self, rows: Rows) -> "Closure":
        """The closure of some of the poses."""
        parts = (tuple(part.taken(rows) for part in some) for some in (self.holding, self.steering))
        return Closure(self.measured.taken(rows), *parts)

    def between(self, other: "Closure", share: Array) -> "Closure":
        """Partway (P,) from this closure, 0, to another of the same linkage, 1."""
        parts = (
            tuple(a.between(b, share) for a, b in zip(mine, others, strict=True))
            for mine, others in (
                (self.holding, other.holding),
                (self.steering, other.steering),
            )
        )
        return Closure(self.measured, *parts)

    def over(self, shape: tuple[int, ...]) -> "Closure":
        """The same with its leading axes broadcast to `shape`."""
        center, pins = broadcast(self.measured.center, shape, 1), self.measured.turns.shape[-1]
        parts = (tuple(part.over(shape) for part in some) for some in (self.holding, self.steering))
        return Closure(Pose.measured(center, pins), *parts)

    def unsteered(self) -> "Closure":
        """The same without what steers: one freedom is left, or one of each knuckle."""
        return Closure(self.measured, tuple(part.unsteered() for part in self.holding))


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
        held = top if links.strut_top is None else links.strut_top
        conditions.append(TopOnDamperRod(held, normals, distances))
        leading += [held.shape[:-1], distances.shape[:-1]]
    conditions.append(CenterHeight(height))
    closure = Closure(Pose.measured(center), tuple(conditions))
    return closure.over(np.broadcast_shapes(*leading))


def axle_closure(axle: Axle, travel: Array, steer: Condition, shape: tuple[int, ...]) -> Closure:
    """What holds an axle beam at a travel (...) of the left wheel, and what steers it. [mm]

    `steer` has to hold the left knuckle; `shape` is that of its leading axes.
    """
    knuckles, holding = axle.knuckles(), axle.holding()
    ends = both_sides(axle.cross_rod_end)
    rod = CrossRod(ends - both_sides(axle.kingpin_lower), norm(ends[..., 0, :] - ends[..., 1, :]))
    heights = both_sides(axle.wheel_center)[..., 2] + axle.rises(travel)
    leading = [
        *(condition.leading for condition in holding),
        knuckles.leading,
        heights.shape[:-1],
        rod.leading,
        shape,
    ]
    on_knuckles = OnKnuckles(knuckles, CenterHeight(heights), rod, steer)
    closure = Closure(Pose.measured(axle.center, 2), (*holding, on_knuckles))
    return closure.over(np.broadcast_shapes(*leading))


def rod_closure(
    linkage: LinkSet | Axle, travel: Array, inner: Array, outer: Array, length: Array
) -> Closure:
    """Closure with a tie rod or drag link of `length` (...) between pivots (..., 3). [mm]"""
    arm = outer - linkage.wheel_center
    rod = LinkLengths(inner[..., None, :], arm[..., None, :], np.asarray(length)[..., None])
    shape = np.broadcast_shapes(inner.shape[:-1], arm.shape[:-1], np.shape(length))
    return _steered(linkage, travel, rod, shape)


def toe_held_closure(linkage: LinkSet | Axle, travel: Array, spin: Array, toe: Array) -> Closure:
    """Closure with a toe (...) [rad], positive toe-in, held on a left spin axis (..., 3)."""
    across = vectors(np.cos(toe), -np.sin(toe), 0.0)
    shape = np.broadcast_shapes(spin.shape[:-1], np.shape(toe))
    return _steered(linkage, travel, HeldToe(spin, across), shape)


def _steered(
    linkage: LinkSet | Axle, travel: Array, steer: Condition, shape: tuple[int, ...]
) -> Closure:
    if isinstance(linkage, Axle):
        return axle_closure(linkage, travel, steer, shape)
    closure = link_closure(linkage, travel)
    shape = np.broadcast_shapes(closure.measured.center.shape[:-1], shape)
    return replace(closure, steering=(steer,)).over(shape)


def _square_pair(line: Array) -> Array:
    """Two unit vectors square to a line and to each other, (..., 3) to (..., 2, 3)."""
    least = np.eye(3)[np.argmin(np.abs(line), axis=-1)]
    first = unit(cross(line, least))
    return np.stack([first, cross(unit(line), first)], axis=-2)
