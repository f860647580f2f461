"""One car many times over: its points moved by errors of the tape, solved in one batch."""

from dataclasses import replace

import numpy as np

from geometry.motion import Rod, rod_motion, toe_held_motion
from geometry.vectors import Array, norm, turned
from geometry.wheel_angles import toe_angle
from optimizer.adjust import Corner, Settings
from optimizer.evaluate import Evaluator


def point_names(corner: Corner) -> list[str]:
    """Names of all points that a tape has measured, the tie rod's last."""
    return [*corner.points, "tie_rod_outer", "tie_rod_inner"]


def moved_corner(evaluator: Evaluator, errors: Array) -> Corner:
    """Corner whose points have been moved by errors of the tape.

    Parameters
    ----------
    evaluator : Evaluator
        The case; its accuracy says how long one standard deviation is.
    errors : (N, P, 3) float array
        Errors in standard deviations, points in the order of `point_names`.

    Returns
    -------
    Corner
        Points of shape (N, 1, 3), to broadcast against heights.
    """
    corner, accuracy = evaluator.corner, evaluator.case.accuracy
    known = corner.points | {"tie_rod_outer": corner.outer_seat, "tie_rod_inner": corner.inner}
    moved = {
        name: known[name] + errors[:, None, k] * np.array(accuracy.of(name))
        for k, name in enumerate(point_names(corner))
    }
    return replace(
        corner,
        points={name: moved[name] for name in corner.points},
        outer_seat=moved["tie_rod_outer"],
        inner=moved["tie_rod_inner"],
    )


def sampled_toe(evaluator: Evaluator, corner: Corner, setting: Settings, travel: Array) -> Array:
    """Toe of every moved car with one setting fitted, static toe set in each.

    Parameters
    ----------
    evaluator : Evaluator
        The case that the cars come from.
    corner : Corner
        N cars, as `moved_corner` gives them.
    setting : Settings
        A batch of one.
    travel : (T,) float array
        Wheel travel from ride height. [mm]

    Returns
    -------
    (N, T) float array
        Toe, positive toe-in; NaN out of reach. [rad]
    """
    outer, inner = corner.pivots(setting)
    linkage = corner.linkage(setting.ball_joint_drop)
    home = np.array(evaluator.case.ride.lowered_by)
    held = toe_held_motion(linkage, home, corner.spin, np.array(evaluator.static_toe))
    length = norm(held.moved(outer) - inner)
    motion = rod_motion(linkage, travel + home, Rod(inner, outer, length))
    return toe_angle(turned(motion.rotation, corner.spin))
