"""Motion of an axle: both knuckles and the beam, at each travel of the left wheel."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from geometry.assembly import SURE_ABOUT_KINGPIN, Side, Way, stays_clear
from geometry.link_motion import (
    JUMP,
    WALK,
    Attempt,
    Flags,
    body_motion,
    closed_poses,
    led_if_need_be,
    nowhere,
)
from geometry.linkages.axle import Axle, both_sides
from geometry.linkages.closure import Closure, rod_closure, toe_held_closure
from geometry.linkages.conditions import Pose
from geometry.poses import Motion, Rod, Rows
from geometry.vectors import Array, turned, unit


@dataclass(frozen=True)
class AxleMotion:
    """What the wheels of an axle and its beam do together, with one `Reach` for all.

    The steering axis of `left` and `right` is the kingpin, upward; `beam` has none (NaN).  The
    right wheel's spin axis, as measured, is the mirror image of the left one's.
    """

    left: Motion
    right: Motion
    beam: Motion

    def of_left(self) -> Motion:
        """Motion of the left wheel, which tells of the others too."""
        return replace(self.left, beam=self.beam, other_wheel=self.right)


def axle_motion(axle: Axle, travel: Array, rod: Rod) -> AxleMotion:
    """Poses at which the left wheel center has risen by `travel` and the drag link stays as long.

    Parameters
    ----------
    axle : Axle
        Points as measured; they may carry leading axes.
    travel : (...) float array
        Rise of the left wheel center from the measured pose; the axle says what the right one
        does. [mm]
    rod : Rod
        The drag link, from the pitman ball to its end on the left knuckle.

    Returns
    -------
    AxleMotion
        Broadcast over all three; NaN with a `Reach` code where no pose exists: `ARMS_END` if the
        links end the way also when both knuckles turn freely, `ROD_ENDS` if the drag link or the
        cross rod can't follow.
    """
    closure = rod_closure(axle, travel, rod.inner, rod.outer, rod.length)
    shape = np.broadcast_shapes(closure.measured.center.shape[:-1], rod.shape)
    levers = _Levers(axle, rod, shape or (1,))
    attempts = led_if_need_be(partial(Way.of, axle, travel, rod), levers.are_meant)
    return _motion(axle, closure.over(shape), attempts)


def toe_held_axle_motion(axle: Axle, travel: Array, spin: Array, toe: Array) -> AxleMotion:
    """The same without a drag link, where the left wheel keeps a wanted toe.

    Takes what `geometry.motion.toe_held_motion` does; the right wheel follows by the cross rod.
    """
    return _motion(axle, toe_held_closure(axle, travel, spin, toe), (JUMP, WALK))


@dataclass(frozen=True)
class _Levers:
    """Drag link and cross rod on the knuckles that they turn, at poses of leading axes `shape`."""

    axle: Axle
    rod: Rod
    shape: tuple[int, ...]

    def are_meant(self, rows: Rows, pose: Pose, _: Array) -> Flags:
        """Whether poses (P,) surely have all of them on the sides where they were measured."""
        axle, rod = self.axle, self.rod.taken(rows, self.shape)
        knuckles = axle.knuckles().over(self.shape).taken(rows)
        arms = both_sides(axle.cross_rod_end) - both_sides(axle.wheel_center)
        arms = np.broadcast_to(arms, (*self.shape, 2, 3))[rows]
        left = np.broadcast_to(axle.wheel_center, (*self.shape, 3))[rows]
        wheels = knuckles.carried(pose)
        turns, centers = wheels.poses.rotation, wheels.poses.center
        outer = centers[:, 0] + turned(turns[:, 0], rod.outer - left)
        pins = pose.center[:, None] + turned(pose.rotation[:, None], knuckles.kingpin)
        ends = centers + turned(turns, arms)
        now = _sides(pins, wheels.kingpin, ends, (outer, rod.inner))
        clear = stays_clear(pins[:, 0], wheels.kingpin[:, 0], outer, rod, SURE_ABOUT_KINGPIN)
        for side, other in zip(self._measured, now, strict=True):
            clear &= side.taken(rows, self.shape).same(other)
        return clear

    @cached_property
    def _measured(self) -> list[Side]:
        axle, rod = self.axle, self.rod
        axes = both_sides(unit(axle.kingpin_upper - axle.kingpin_lower))
        pins, ends = both_sides(axle.kingpin_lower), both_sides(axle.cross_rod_end)
        return _sides(pins, axes, ends, (rod.outer, rod.inner_straight))


def _sides(pins: Array, axes: Array, ends: Array, rod: tuple[Array, Array]) -> list[Side]:
    """Sides of the drag link, and of the cross rod on the left and on the right knuckle.

    Points of the kingpins, their unit directions and the cross rod's ends are (..., 2, 3), the drag
    link's outer and inner pivot (..., 3). [mm]
    """
    left, right = ((pins[..., k, :], axes[..., k, :]) for k in range(2))
    near, far = ends[..., 0, :], ends[..., 1, :]
    joined = ((*left, *rod), (*left, near, far), (*right, far, near))
    return [Side.of(*points, sure=SURE_ABOUT_KINGPIN) for points in joined]


def _motion(axle: Axle, closure: Closure, attempts: Sequence[Attempt]) -> AxleMotion:
    beams, reach = nowhere(closure)
    for rows, pose, _ in closed_poses(closure, reach, attempts):
        beams.put(rows, pose)
    beams = beams.reshaped(closure.measured.center.shape[:-1])
    knuckles, wheels = axle.knuckles(), both_sides(axle.wheel_center)
    both = knuckles.carried(beams).poses
    axes = turned(beams.rotation[..., None, :, :], knuckles.direction)
    left, right = (
        body_motion(
            Pose.rigid(both.rotation[..., k, :, :], both.center[..., k, :]),
            wheels[..., k, :],
            axes[..., k, :],
            reach,
        )
        for k in range(2)
    )
    none = np.full(beams.center.shape, np.nan)
    return AxleMotion(left, right, body_motion(beams, axle.center, none, reach))
