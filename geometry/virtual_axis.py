"""The axis about which an upright can steer that is not held by two ball joints.

A link hinders nothing but its own length, so the upright may turn, at that moment, about any
straight line that meets the line of every link; a strut's top mount hinders two directions square
to the damper rod.  Four lines in space are met by two straight lines.  In a double wishbone these
are the line through the ball joints and the line in which the planes of the arms meet: the steering
axis and the instant axis of the suspension.  In general the one about which steering lifts the
wheel less is the virtual steering axis.  (The screw that the upright follows while the wheel
center's height is held is another motion: it mixes in a little bump, and even a double wishbone
would not follow its ball joints.)
"""

import numpy as np

from geometry.linkages import Axle, Linkage, LinkSet, SteeringAxis
from geometry.linkages.closure import Closure, link_closure
from geometry.linkages.conditions import ARM, Pose
from geometry.newton import solution
from geometry.vectors import Array, cross, dot, unit


def virtual_steering_axis(closure: Closure, pose: Pose) -> tuple[Array, Array]:
    """Virtual steering axis of links at poses that close.

    Parameters
    ----------
    closure : Closure
        What holds the upright, unsteered; its wheel height does not matter here.
    pose : Pose
        Poses (...).

    Returns
    -------
    (..., 3) float array, (..., 3) float array
        The axis's point nearest to the wheel center [mm], and its unit direction, upward; NaN
        where no straight line meets all links.
    """
    return axis_of_rates(pose.center, closure.rows(pose)[1])


def axis_of_rates(center: Array, rates: Array) -> tuple[Array, Array]:
    """See `virtual_steering_axis`: from the Jacobian (..., 5, 6) of what holds the upright."""
    yaw = np.broadcast_to([[0.0, 0.0, 1.0 / ARM, 0.0, 0.0, 0.0]], (*rates.shape[:-2], 1, 6))
    # All motions that keep the links: a steer without lift and a lift without yaw.
    steer_and_lift = np.eye(6)[:, [5, 4]]
    motions = solution(np.concatenate([rates, yaw], axis=-2), steer_and_lift)
    turns, moves = motions[..., :3, :] / ARM, motions[..., 3:, :]
    share = _lift_share(turns, moves)[..., None]
    turn, move = (both[..., 0] + share * both[..., 1] for both in (turns, moves))
    return center + cross(turn, move) / dot(turn, turn)[..., None], unit(turn)


def _lift_share(turns: Array, moves: Array) -> Array:
    """Lift that makes a steer a turn without a slide: the smaller root of turn . move = 0."""
    slide = dot(turns[..., 0], moves[..., 0])
    half = 0.5 * (dot(turns[..., 0], moves[..., 1]) + dot(turns[..., 1], moves[..., 0]))
    square = half**2 - slide * dot(turns[..., 1], moves[..., 1])
    root = np.sqrt(np.where(square < 0.0, np.nan, square))
    far = half + np.copysign(root, half)
    share: Array = -slide / np.where(far == 0.0, np.nan, far)
    return share


def measured_axis(linkage: Linkage) -> SteeringAxis:
    """Steering axis of any linkage as measured, named by two of its points. [mm]"""
    if isinstance(linkage, Axle):
        lower, upper = linkage.kingpin_lower, linkage.kingpin_upper
        return SteeringAxis(lower, upper, lower, upper)
    if not isinstance(linkage, LinkSet):
        return linkage.steering_axis(np.zeros(()))
    closure = link_closure(linkage, np.zeros(()))
    point, direction = virtual_steering_axis(closure, closure.measured)
    lower, upper = point - ARM * direction, point + ARM * direction
    return SteeringAxis(lower, upper, lower, upper)
