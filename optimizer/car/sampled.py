"""One car many times over: its points moved by errors of the tape, solved in one batch."""

import numpy as np

from geometry.motion import Motion, Rod, rod_motion, toe_held_motion
from geometry.toe_held_cars import onto_heights, toe_errors, toe_held_cars
from geometry.vectors import Array, norm, turned
from geometry.wheel_angles import toe_angle
from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names, tape_root, with_points_moved
from optimizer.car.wanted import wanted_change


def moved_corner(evaluator: Evaluator, errors: Array) -> Corner:
    """Corner whose points have been moved by errors of the tape.

    Parameters
    ----------
    evaluator : Evaluator
        The case; its accuracy says how far such errors move the points.
    errors : (N, P, 3) float array
        Independent errors in standard deviations, as `tape_root` takes them, points in the order of
        `point_names`.

    Returns
    -------
    Corner
        Points of shape (N, 1, 3), to broadcast against heights.
    """
    corner = evaluator.corner
    root = tape_root(evaluator.case, corner)
    by = (errors.reshape(len(errors), -1) @ root.T).reshape(errors.shape)
    return with_points_moved(corner, by[:, None])


def as_taped(evaluator: Evaluator) -> Corner:
    """Corner of the one car whose points are where the tape says, as `moved_corner`."""
    return moved_corner(evaluator, np.zeros((1, len(point_names(evaluator.corner)), 3)))


def sampled_motion(
    evaluator: Evaluator,
    corner: Corner,
    setting: Settings,
    travel: Array,
    *,
    rack: Array | float = 0.0,
    longer: Array | float = 0.0,
) -> Motion:
    """Poses of every moved car with one setting fitted, static toe set in each.

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
    rack : (T,) float array or float
        Rack travel from straight ahead, positive as `Corner.rack_axis` points. [mm]
    longer : (T,) float array or float
        How much longer the rod is than static toe asks for. [mm]

    Returns
    -------
    Motion
        Poses (N, T); NaN out of reach.
    """
    outer, inner = corner.pivots(setting)
    linkage = corner.linkage(setting.linkage)
    home = np.array(evaluator.case.ride.lowered_by)
    held = toe_held_motion(linkage, home, corner.spin, np.array(evaluator.static_toe))
    length = norm(held.moved(outer) - inner) + longer
    steered = (
        inner + np.asarray(rack)[..., None] * corner.rack_way(int(setting.linkage[0]))
        if np.any(rack)
        else inner
    )
    return rod_motion(linkage, travel + home, Rod(steered, outer, length, inner, home))


def held_motion(
    evaluator: Evaluator, corner: Corner, setting: Settings, travel: Array, toe: Array
) -> Motion:
    """Poses of every moved car with the wheel held at a toe, as `sampled_motion`. [rad].

    Travel has the static toe behind all others: `toe` is one shorter.
    """
    linkage, home = corner.linkage(setting.linkage), np.array(evaluator.case.ride.lowered_by)
    held = np.append(toe, evaluator.static_toe)
    return toe_held_motion(linkage, travel + home, corner.spin, held)


def sampled_toe(evaluator: Evaluator, corner: Corner, setting: Settings, travel: Array) -> Array:
    """Toe of every moved car with one setting fitted, as `sampled_motion`, (N, T). [rad]."""
    motion = sampled_motion(evaluator, corner, setting, travel)
    return toe_angle(turned(motion.rotation, corner.spin))


def toe_spread(evaluator: Evaluator) -> float:
    """How far the tape leaves open the toe change of the car as it is, to first order. [rad].

    One standard deviation, at the end of travel where it is larger; each independent error moves
    the points by one of its own.
    """
    count = len(point_names(evaluator.corner)) * 3
    errors = np.concatenate([np.zeros((1, count)), np.eye(count)]).reshape(count + 1, -1, 3)
    travel = evaluator.travel[[0, evaluator.home, -1]]
    toe = sampled_toe(evaluator, moved_corner(evaluator, errors), Settings.single(), travel)
    change = toe[:, [0, 2]] - toe[:, [1]]
    return float(np.sqrt(np.nansum((change[1:] - change[0]) ** 2, axis=0)).max())


def sampled_change(
    evaluator: Evaluator, corner: Corner, settings: Settings, travel: Array
) -> Array:
    """Toe change of every moved car with every setting, beyond the wanted one.

    The toe-held method of `geometry.toe_held_cars`: the rod's squared length is quadratic in toe as
    nearly as any gauge can see.

    Parameters
    ----------
    evaluator : Evaluator
        The case that the cars come from.
    corner : Corner
        N cars, as `moved_corner` gives them.
    settings : Settings
        M candidates with one linkage.
    travel : (T,) float array
        Wheel travel from ride height, holding 0. [mm]

    Returns
    -------
    (M, N, T) float array
        NaN where a car cannot reach a height. [rad]
    """
    onto = onto_heights(travel, np.concatenate([[0.0], travel]))
    linkage, heights = int(settings.linkage[0]), travel + evaluator.case.ride.lowered_by
    toe = evaluator.static_toe + wanted_change(evaluator.case.aim, travel)
    cars, measured = (one.held(linkage, heights, toe) for one in (corner, evaluator.corner))
    moved = toe_held_cars(cars, measured, onto)
    outer, inner = evaluator.corner.pivots(settings)
    shifts = outer - evaluator.corner.outer_seat, inner - evaluator.corner.inner
    return np.concatenate([change for _, change in toe_errors(moved, *shifts)], axis=1)
