"""What a pivot pair costs in steering: how fast it steers, and how unlike the wheels turn."""

import numpy as np

from geometry.toe_held import HALF_RANGE, ToeHeldPoses, pair_terms
from geometry.vectors import Array, dot, turned


def steer_rate(poses: ToeHeldPoses, outer: Array, inner: Array, rack_axis: Array) -> Array:
    """Toe of this wheel per rack travel, steering straight ahead at ride height.

    The rod keeps its squared length S while the inner pivot moves by q along the rack and the wheel
    turns by a toe angle: ``dtoe/dq = -(dS/dq) / (dS/dtoe)``, exact at this pose.

    Parameters
    ----------
    poses : ToeHeldPoses
        The family of heights, ride height among them.
    outer, inner : (M, 3) float array
        Pivots at the measured pose. [mm]
    rack_axis : (3,) float array
        Unit vector along the rack, the way of positive rack travel.

    Returns
    -------
    (M,) float array
        Positive where positive rack travel turns a left wheel to the right, toward toe-in; with the
        rack axis to the left, that is a steering arm behind the axle. [rad/mm]
    """
    outer, inner = np.broadcast_arrays(np.atleast_2d(outer), np.atleast_2d(inner))
    home = poses.home
    carried = turned(poses.rotation[home], outer) + poses.translation[home]
    per_travel = 2.0 * dot(inner - carried, rack_axis)
    per_toe = pair_terms(outer, inner) @ poses.family[1][:, home] / HALF_RANGE
    rate: Array = -per_travel / per_toe
    return rate


def turn_toe_out(straight: Array, one_way: Array, other_way: Array) -> Array:
    """How much farther the inner wheel of a turn is steered than the outer one.

    The other side of the car is a mirror image: its toe is that of this wheel with the rack moved
    the other way, so one wheel tells both.

    Parameters
    ----------
    straight : (...) float array
        Toe steering straight ahead, positive toe-in. [rad]
    one_way, other_way : (...) float array
        Toe of the same wheel with the rack moved by so much one way and the other. [rad]

    Returns
    -------
    (...) float array
        Steer angle of the inner wheel minus that of the outer one, both from straight ahead,
        positive where they toe out in the turn; NaN where either is out of reach. [rad]
    """
    return 2.0 * straight - one_way - other_way
