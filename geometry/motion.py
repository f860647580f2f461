"""Pose of the upright at each wheel travel, with toe set by a tie rod or held at a wanted value.

The arm's swing is the unknown: for a swing the linkage places the steering axis, the rod (or the
wanted toe) fixes the turn about that axis, and the swing is refined until the wheel center has
risen by exactly the wanted travel.  Everything broadcasts: candidates x heights in one call.
An upright on links and a beam axle have no such closed form; `geometry.link_motion` and
`geometry.axle_motion` find their poses.
"""

from collections.abc import Callable

import numpy as np

from geometry.axle_motion import axle_motion, toe_held_axle_motion
from geometry.link_motion import link_motion
from geometry.linkages import ArmLinkage, BeamAxle, Linkage, LinkSet, SteeringAxis
from geometry.linkages.closure import rod_closure, toe_held_closure
from geometry.poses import Motion, Reach, Rod
from geometry.spheres import three_sphere_point, which_side
from geometry.vectors import Array, cross, dot, norm, turned, unit

__all__ = ["Motion", "Reach", "Rod", "rod_motion", "toe_held_motion"]

TRAVEL_ATOL = 1e-10  # how exactly the wheel center must reach the wanted height [mm]
SECANT_STEPS = 12
CLOSEST_GUESS = 1e-3  # two first guesses nearer than this tell too little about the slope [rad]
WIDEST_SWING = 1.5  # the arm is never sought farther from its measured pose [rad]
BISECTIONS = 60

Turn = Callable[[SteeringAxis], Array]


def rod_motion(linkage: Linkage, travel: Array, rod: Rod) -> Motion:
    """Poses at which the wheel center has risen by `travel` and the rod keeps its length.

    Parameters
    ----------
    linkage : Linkage
        Points as measured; they may carry leading axes.
    travel : (...) float array
        Rise of the wheel center from the measured pose. [mm]
    rod : Rod
        The tie rod; of a beam axle the drag link.

    Returns
    -------
    Motion
        Of the upright, or of the left knuckle of a beam axle.  Broadcast over all three; NaN with a
        `Reach` code where no pose exists.
    """
    if isinstance(linkage, BeamAxle):
        return axle_motion(linkage, travel, rod).of_left()
    if isinstance(linkage, LinkSet):
        return link_motion(rod_closure(linkage, travel, rod.inner, rod.outer, rod.length))
    measured = linkage.steering_axis(np.zeros(()))
    ends = np.broadcast_arrays(
        measured.lower_measured, measured.upper_measured, rod.inner, rod.outer
    )
    side = which_side(np.stack(ends[:3], axis=-2), ends[3])

    def turn(axis: SteeringAxis) -> Array:
        arm = rod.outer - axis.lower_measured
        radii = np.stack(
            np.broadcast_arrays(norm(arm), norm(rod.outer - axis.upper_measured), rod.length),
            axis=-1,
        )
        centers = np.stack(np.broadcast_arrays(axis.lower, axis.upper, rod.inner), axis=-2)
        outer = three_sphere_point(centers, radii, side)
        return _rotation_between(axis, arm, outer - axis.lower)

    shape = np.broadcast_shapes(np.shape(travel), np.shape(rod.length), side.shape)
    return _motion_at(linkage, np.broadcast_to(travel, shape), turn)


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
        Of the upright, or of the left knuckle of a beam axle.  Broadcast over all; NaN with a
        `Reach` code where no pose exists.
    """
    if isinstance(linkage, BeamAxle):
        return toe_held_axle_motion(linkage, travel, spin, toe).of_left()
    if isinstance(linkage, LinkSet):
        return link_motion(toe_held_closure(linkage, travel, spin, toe))
    square_to = np.stack([np.cos(toe), -np.sin(toe), np.zeros(np.shape(toe))], axis=-1)

    def turn(axis: SteeringAxis) -> Array:
        # The new spin axis is a unit vector square to `square_to` that keeps its component along
        # the steering axis: two planes and the unit sphere; of the two answers the outboard one.
        direction = unit(axis.upper - axis.lower)
        kept = dot(unit(axis.upper_measured - axis.lower_measured), spin)
        leaning = dot(square_to, direction)
        free = 1.0 - leaning**2
        with np.errstate(invalid="ignore", divide="ignore"):  # NaN where no toe can be held
            outboard = np.sqrt((1.0 - kept**2 / free) / free)
        held = (kept / free)[..., None] * (direction - leaning[..., None] * square_to) + outboard[
            ..., None
        ] * cross(direction, square_to)
        return _rotation_between(axis, spin, held)

    return _motion_at(linkage, np.asarray(travel) + np.zeros(np.shape(toe)), turn)


def _rotation_between(axis: SteeringAxis, measured: Array, now: Array) -> Array:
    """Rotation that carries the steering axis and one more direction from measured to now."""
    before = _triad(axis.upper_measured - axis.lower_measured, measured)
    after = _triad(axis.upper - axis.lower, now)
    rotation = np.empty((*np.broadcast_shapes(before[0].shape, after[0].shape), 3))
    for row in range(3):
        for column in range(3):
            rotation[..., row, column] = sum(
                a[..., row] * b[..., column] for a, b in zip(after, before, strict=True)
            )
    return rotation


def _triad(axis: Array, other: Array) -> tuple[Array, Array, Array]:
    first = unit(axis)
    third = unit(cross(first, other))
    return first, cross(third, first), third


def _motion_at(linkage: ArmLinkage, travel: Array, turn: Turn) -> Motion:
    """Refine the arm's swing until the wheel center stands at `travel`."""

    def miss(swing: Array) -> Array:
        return _pose(linkage, swing, turn)[2] - travel

    swing = _secant_root(miss, np.zeros(travel.shape), _first_guess(linkage, travel))
    lost = ~(np.abs(miss(swing)) <= TRAVEL_ATOL)
    if lost.any():
        swing = np.where(lost, _bisected_root(miss, travel.shape), swing)
    rotation, translation, rise, axis = _pose(linkage, swing, turn)
    reach = np.where(np.isnan(axis.upper_measured + axis.upper).any(axis=-1), Reach.ARMS_END, 0)
    reach = np.where((reach == 0) & np.isnan(rise), Reach.ROD_ENDS, reach)
    direction = unit(axis.upper - axis.lower)
    gone = ~(np.abs(rise - travel) <= 10.0 * TRAVEL_ATOL)
    reach = np.where((reach == 0) & gone, Reach.ARMS_END, reach).astype(np.int8)
    for part in (rotation, translation, direction):
        part[gone] = np.nan
    return Motion(rotation, translation, direction, reach)


def _pose(
    linkage: ArmLinkage, swing: Array, turn: Turn
) -> tuple[Array, Array, Array, SteeringAxis]:
    axis = linkage.steering_axis(swing)
    rotation = turn(axis)
    translation = axis.lower - turned(rotation, axis.lower_measured)
    center = turned(rotation, linkage.wheel_center) + translation
    return rotation, translation, center[..., 2] - linkage.wheel_center[..., 2], axis


def _first_guess(linkage: ArmLinkage, travel: Array) -> Array:
    arm = linkage.lower_ball_joint - linkage.lower_arm_rear
    along = unit(linkage.lower_arm_front - linkage.lower_arm_rear)
    guess: Array = np.clip(travel / norm(cross(along, arm)), -1.0, 1.0)
    return guess


def _secant_root(miss: Callable[[Array], Array], first: Array, second: Array) -> Array:
    """Zero of `miss` by secant steps; NaN or short of the tolerance where they lose their way."""
    second = np.where(np.abs(second - first) < CLOSEST_GUESS, first + CLOSEST_GUESS, second)
    miss_first, miss_second = miss(first), miss(second)
    for _ in range(SECANT_STEPS):
        done = np.abs(miss_second) <= TRAVEL_ATOL
        if (done | np.isnan(miss_second)).all():
            break
        change = miss_second - miss_first
        step = miss_second * (second - first) / np.where(change == 0.0, np.nan, change)
        first, miss_first = second, miss_second
        second = np.where(done, second, second - step)
        miss_second = miss(second)
    return second


def _bisected_root(miss: Callable[[Array], Array], shape: tuple[int, ...]) -> Array:
    """Zero of `miss` between the measured pose and the widest swing, by halving.

    Halving cannot leave the reachable range: a swing without a pose counts as too far, so a height
    beyond reach ends just outside the last pose that exists.
    """
    start = miss(np.zeros(shape))
    near, far = np.zeros(shape), np.where(start < 0.0, WIDEST_SWING, -WIDEST_SWING)
    for _ in range(BISECTIONS):
        middle = 0.5 * (near + far)
        short = miss(middle) * start > 0.0
        near, far = np.where(short, middle, near), np.where(short, far, middle)
    return far
