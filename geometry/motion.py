"""Pose of the upright at each wheel travel, with toe set by a tie rod or held at a wanted value.

The arm's swing is the unknown: for a swing the linkage places the steering axis, the rod (or the
wanted toe) fixes the turn about that axis, and the swing is refined until the wheel center has
risen by exactly the wanted travel.  Everything broadcasts: candidates x heights in one call.
An upright on links and an axle have no such closed form; `geometry.link_motion` and
`geometry.axle_motion` find their poses.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.assembly import Side, Way, stays_clear
from geometry.axle_motion import axle_motion, toe_held_axle_motion
from geometry.link_motion import Attempt, closed_poses, link_motion, steered_link_motion
from geometry.linkages import ArmLinkage, Axle, Linkage, LinkSet, SteeringAxis, Strut
from geometry.linkages.closure import toe_held_closure
from geometry.poses import Motion, Reach, Rod
from geometry.spheres import root_or_nan
from geometry.vectors import Array, cross, dot, norm, turned, unit, vectors

__all__ = ["Motion", "Reach", "Rod", "rod_motion", "toe_held_motion"]

TRAVEL_ATOL = 1e-10  # how exactly the wheel center must reach the wanted height [mm]
STEPS = 12
CLOSEST_GUESS = 1e-3  # two first guesses nearer than this tell too little about the slope [rad]
WIDEST_SWING = 1.5  # the arm is never sought farther from its measured pose [rad]
BISECTIONS = 60
LEAST_RISE = 0.2  # of the wheel center per swing, as a share of the arm's length, that is sure

Turn = Callable[[SteeringAxis], "_Turned"]


def rod_motion(linkage: Linkage, travel: Array, rod: Rod) -> Motion:
    """Poses at which the wheel center has risen by `travel` and the rod keeps its length.

    Parameters
    ----------
    linkage : Linkage
        Points as measured; they may carry leading axes.
    travel : (...) float array
        Rise of the wheel center from the measured pose. [mm]
    rod : Rod
        The tie rod; of an axle the drag link.

    Returns
    -------
    Motion
        Of the upright, or of the left knuckle of an axle.  Broadcast over all three; NaN with a
        `Reach` code where no pose exists.
    """
    if isinstance(linkage, Axle):
        return axle_motion(linkage, travel, rod).of_left()
    if isinstance(linkage, LinkSet):
        return steered_link_motion(linkage, travel, rod)
    side = Side.measured(linkage, rod)

    def turn(axis: SteeringAxis) -> _Turned:
        # The outer pivot runs about the steering axis; seen along it, axis, inner and outer pivot
        # are a triangle of which the three sides are known.
        arm, inner = rod.outer - axis.lower_measured, rod.inner - axis.lower
        before = _triad(axis.upper_measured - axis.lower_measured, arm)
        up = unit(axis.upper - axis.lower)
        along, reach = dot(up, inner), dot(before[1], arm)
        level = inner - along[..., None] * up
        away, beyond = norm(level), along - dot(before[0], arm)
        with np.errstate(invalid="ignore", divide="ignore"):  # NaN where they are no triangle
            toward = level / away[..., None]
            share: Array = reach**2 + away**2 + beyond**2 - rod.length**2
            share = share / (2.0 * reach * away)
        c, s = share[..., None], (side.sign * root_or_nan(1.0 - share**2, 1.0))[..., None]
        beside = cross(up, toward)
        return _Turned(before, (up, c * toward + s * beside, c * beside - s * toward))

    shape = np.broadcast_shapes(np.shape(travel), rod.shape, side.sign.shape)
    travel = np.broadcast_to(travel, shape)
    pose, rise_rate = _by_steps(linkage, travel, turn)
    motion = pose.motion(travel)
    rises = rise_rate >= LEAST_RISE * linkage.lower_circle.radius
    outer = motion.moved(rod.outer)
    sure = rises & side.clear & stays_clear(pose.axis.lower, motion.steering_axis, outer, rod)
    return motion if sure.all() else _led_where_unsure(linkage, travel, rod, motion, sure)


def toe_held_motion(linkage: Linkage, travel: Array, spin: Array, toe: Array) -> Motion:
    """Poses at which the wheel center has risen by `travel` and the wheel keeps a wanted toe.

    No tie rod takes part: this is the motion that a perfect rod would have to allow.

    Parameters
    ----------
    linkage : Linkage
        Points as measured.
    travel : (...) float array
        Rise of the wheel center from the measured pose. [mm]
    spin : (..., 3) float array
        Unit spin axis at the measured pose, outboard.
    toe : (...) float array
        Toe to hold, positive toe-in. [rad]

    Returns
    -------
    Motion
        Of the upright, or of the left knuckle of an axle.  Broadcast over all; NaN with a
        `Reach` code where no pose exists.
    """
    if isinstance(linkage, Axle):
        return toe_held_axle_motion(linkage, travel, spin, toe).of_left()
    if isinstance(linkage, LinkSet):
        return link_motion(toe_held_closure(linkage, travel, spin, toe))
    square_to = vectors(np.cos(toe), -np.sin(toe), 0.0)

    def turn(axis: SteeringAxis) -> _Turned:
        # The spin axis keeps its component along the steering axis, and comes to be square to
        # `square_to`; of two such directions it takes the outboard one.
        before = _triad(axis.upper_measured - axis.lower_measured, spin)
        up = unit(axis.upper - axis.lower)
        kept, free_of_it, leaning = dot(before[0], spin), dot(before[1], spin), dot(square_to, up)
        free = 1.0 - leaning**2
        with np.errstate(invalid="ignore", divide="ignore"):  # NaN where no toe can be held
            s = (kept * leaning / (free * free_of_it))[..., None]
            c = (np.sqrt((1.0 - kept**2 / free) / free) / free_of_it)[..., None]
        level, across = leaning[..., None] * up - square_to, cross(up, square_to)
        return _Turned(before, (up, s * level + c * across, c * level - s * across))

    travel = np.asarray(travel) + np.zeros(np.shape(toe))
    pose, _ = _by_steps(linkage, travel, turn)
    lost = ~(np.abs(pose.rise - travel) <= TRAVEL_ATOL)
    if lost.any():
        swing = np.where(lost, _by_halves(linkage, travel, turn), pose.swing)
        pose = _Pose.of(linkage, swing, turn)
    return pose.motion(travel)


def _led_where_unsure(
    linkage: ArmLinkage, travel: Array, rod: Rod, motion: Motion, sure: NDArray[np.bool_]
) -> Motion:
    """Walk to the poses that may belong to another assembly, or that were not found."""
    way = Way.of(linkage.link_set(), travel, rod)
    closed = motion.reach == Reach.REACHED
    reach = np.where(sure, Reach.REACHED, Reach.ROD_ENDS).astype(np.int8).reshape(-1)
    rotation = np.where(sure[..., None, None], motion.rotation, np.nan).reshape(-1, 3, 3)
    translation = np.where(sure[..., None], motion.translation, np.nan).reshape(-1, 3)
    for rows, pose, _ in closed_poses(way.end, reach, [Attempt(lambda rows, _: way.led(rows))]):
        measured = way.end.measured.center.reshape(-1, 3)[rows]
        rotation[rows] = pose.rotation
        translation[rows] = pose.center - turned(pose.rotation, measured)
    jammed = closed & (reach.reshape(sure.shape) == Reach.ROD_ENDS)
    codes = np.where(jammed, Reach.JAMMED, reach.reshape(sure.shape)).astype(np.int8)
    shape = (*sure.shape, 3)
    led = Motion(
        rotation.reshape(*shape, 3), translation.reshape(shape), motion.steering_axis, codes
    )
    lower = led.moved(linkage.lower_joint_in_upright)
    top = linkage.strut_top if isinstance(linkage, Strut) else led.moved(linkage.upper_ball_joint)
    return replace(led, steering_axis=unit(top - lower) + 0.0 * led.translation)


@dataclass(frozen=True)
class _Turned:
    """A turn as three unit vectors square to each other, before it and after it, (..., 3) each."""

    before: tuple[Array, Array, Array]
    after: tuple[Array, Array, Array]

    def height(self, vector: Array) -> Array:
        """What the turn makes of a vector (..., 3), its part upward alone."""
        pairs = zip(self.before, self.after, strict=True)
        first, second, third = (dot(b, vector) * a[..., 2] for b, a in pairs)
        return first + second + third

    @property
    def rotation(self) -> Array:
        """The turn as a matrix, (..., 3, 3)."""
        a, b = self.after, self.before
        out = np.empty((*np.broadcast_shapes(a[0].shape, b[0].shape), 3))
        for row, column in np.ndindex(3, 3):
            first, second, third = (a[k][..., row] * b[k][..., column] for k in range(3))
            out[..., row, column] = first + second + third
        return out


def _triad(axis: Array, other: Array) -> tuple[Array, Array, Array]:
    """Along an axis, square to it toward another direction, and square to both, (..., 3) each."""
    first = unit(axis)
    third = unit(cross(first, other))
    return first, cross(third, first), third


@dataclass(frozen=True)
class _Pose:
    """Where the upright is at a swing of its arm, and how far its wheel center has risen."""

    swing: Array
    axis: SteeringAxis
    turned: _Turned
    rise: Array

    @staticmethod
    def of(linkage: ArmLinkage, swing: Array, turn: Turn) -> "_Pose":
        axis = linkage.steering_axis(swing)
        now = turn(axis)
        height = axis.lower[..., 2] + now.height(linkage.wheel_center - axis.lower_measured)
        return _Pose(swing, axis, now, height - linkage.wheel_center[..., 2])

    def motion(self, travel: Array) -> Motion:
        """The motion that it is part of, NaN where the wheel center is not at `travel`."""
        axis, rise = self.axis, self.rise
        reach = np.where(np.isnan(axis.upper_measured + axis.upper).any(axis=-1), Reach.ARMS_END, 0)
        reach = np.where((reach == 0) & np.isnan(rise), Reach.ROD_ENDS, reach)
        gone = ~(np.abs(rise - travel) <= 10.0 * TRAVEL_ATOL)
        reach = np.where((reach == 0) & gone, Reach.ARMS_END, reach).astype(np.int8)
        rotation, direction = self.turned.rotation, unit(axis.upper - axis.lower)
        translation = axis.lower - turned(rotation, axis.lower_measured)
        for part in (rotation, translation, direction):
            part[gone] = np.nan
        return Motion(rotation, translation, direction, reach)


def _by_steps(linkage: ArmLinkage, travel: Array, turn: Turn) -> tuple[_Pose, Array]:
    """Pose with the wheel center at `travel`, by steps of the swing, and its rise per swing.

    The wheel center rises nearly as the lower ball joint does, which is where the steps start from.
    The swing is taken for a straight line of the rise through the last two poses, then for a
    parabola through the last three.  NaN or short of the tolerance where they lose their way.
    """
    circle = linkage.lower_circle
    first = circle.swing(travel)
    miss_first = _Pose.of(linkage, first, turn).rise - travel
    second = circle.swing(travel - miss_first)
    close = np.abs(second - first) < CLOSEST_GUESS
    second = np.where(close, first + CLOSEST_GUESS, second)
    pose = _Pose.of(linkage, second, turn)
    miss = pose.rise - travel
    per_rise, bend = (second - first) / (miss - miss_first), np.zeros(())
    for _ in range(STEPS):
        done = np.abs(miss) <= TRAVEL_ATOL
        if (done | np.isnan(miss)).all():
            break
        step = np.where(done, 0.0, miss * (miss_first * bend - per_rise))
        miss_before, miss_first = miss_first, miss
        pose = _Pose.of(linkage, pose.swing + step, turn)
        miss = pose.rise - travel
        change, farther = (
            np.where(done | (miss == one), np.nan, miss - one) for one in (miss_first, miss_before)
        )
        newer = np.where(done, per_rise, step / change)
        per_rise, bend = newer, np.where(done, 0.0, (newer - per_rise) / farther)
    return pose, 1.0 / per_rise


def _by_halves(linkage: ArmLinkage, travel: Array, turn: Turn) -> Array:
    """Swing that brings the wheel center to `travel`, between none and the widest, by halving.

    Halving cannot leave the reachable range: a swing without a pose counts as too far, so a height
    beyond reach ends just outside the last pose that exists.
    """
    start = _Pose.of(linkage, np.zeros(travel.shape), turn).rise - travel
    near, far = np.zeros(travel.shape), np.where(start < 0.0, WIDEST_SWING, -WIDEST_SWING)
    for _ in range(BISECTIONS):
        middle = 0.5 * (near + far)
        short = (_Pose.of(linkage, middle, turn).rise - travel) * start > 0.0
        near, far = np.where(short, middle, near), np.where(short, far, middle)
    return far
