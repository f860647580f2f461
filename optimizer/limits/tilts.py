"""Tilt of the joints at both ends of the tie rod, and the tilt at which each binds."""

from collections.abc import Callable

import numpy as np

from geometry.motion import Motion
from geometry.rod_ends import inner_lean, inner_tilt, outer_lean, outer_tilt
from geometry.tilt_limits import (
    cone_diameter_at_ball,
    face_tilt_limit,
    pin_tilt_limit,
    washer_tilt_limit,
)
from geometry.vectors import Array, turned, unit
from optimizer.car.adjust import mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.models.limits import Joint, TiltLimit


def joint_tilts(
    evaluator: Evaluator,
    settings: Settings,
    motion: Motion,
    rack: Array,
    rod_length: Array | None = None,
) -> tuple[Array, Array]:
    """Tilt of the outer and of the inner joint.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    motion : Motion
        Their poses, (M, T).
    rack : (T,) or (M, T) float array
        Rack travel of each, to the left of the car positive. [mm]
    rod_length : (M,) float array, optional
        Rod length; the one that gives the static toe if left out. [mm]

    Returns
    -------
    outer, inner : (M, T) float array
        Tilts; NaN where there is no pose.  A rod that can't turn is taken as set with its
        housings straight at ride height, steering straight ahead. [rad]
    """
    places = evaluator, settings, motion, rack
    return _at_joints(outer_tilt, inner_tilt, places, rod_length)


def joint_leans(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> tuple[Array, Array]:
    """Vectors as long as the sine of either tilt, see `joint_tilts`, (M, T, K) each."""
    return _at_joints(outer_lean, inner_lean, (evaluator, settings, motion, rack))


def _at_joints(
    outer: Callable[..., Array],
    inner: Callable[[Array, Array], Array],
    places: tuple[Evaluator, Settings, Motion, Array],
    rod_length: Array | None = None,
) -> tuple[Array, Array]:
    """What two functions of `geometry.rod_ends` make of the outer and of the inner joint."""
    evaluator, settings, motion, rack = places
    joint, corner = evaluator.case.joint, evaluator.corner
    rod = _rod_direction(evaluator, settings, motion, rack)
    bolts = [turned(motion.rotation, corner.bolt_axis)]
    if joint.inner.bolt_axis is not None:
        bolts.append(np.array(joint.inner.bolt_axis) * mirror_of(evaluator.case))
    if joint.rod_turns:
        found = [outer(rod, bolt) for bolt in bolts]
    else:
        home = evaluator.motion(settings, np.zeros(1), np.zeros(1), rod_length)
        rod_home = _rod_direction(evaluator, settings, home, np.zeros(1))
        bolts_home = [turned(home.rotation, corner.bolt_axis), *bolts[1:]]
        found = [
            outer(rod, bolt, rod_turns=False, rod_reference=rod_home, bolt_reference=bolt_home)
            for bolt, bolt_home in zip(bolts, bolts_home, strict=True)
        ]
    return found[0], found[1] if len(found) > 1 else inner(rod, evaluator.rack_way(settings))


def _rod_direction(evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array) -> Array:
    outer_now, inner_now = evaluator.rod_ends(settings, motion, rack)
    return unit(outer_now - inner_now)


def outer_tilt_limit_deg(joint: Joint) -> float | None:
    """Tilt at which the outer joint binds, by itself or at its washers; None if not stated. [deg].

    A housing whose diameter is not stated counts as wider than any washer.
    """
    bare, width = tilt_limit_deg(joint.outer), joint.outer.ball_width
    if joint.retaining_washer is None or bare is None or width is None:
        return bare
    over, head = joint.outer.width_over_spacers, joint.outer.head_width
    washer = washer_tilt_limit(
        width if over is None else over,
        (joint.outer.race_width or 0.0) if head is None else head,
        washer_diameter=joint.retaining_washer,
        housing_diameter=joint.housing_diameter or np.inf,
    )
    return min(bare, float(np.degrees(washer)))


def tilt_limit_deg(joint: TiltLimit) -> float | None:
    """Tilt at which a joint binds, as given or from its dimensions; None if not stated. [deg]."""
    if joint.tilt_limit_deg is not None:
        return joint.tilt_limit_deg
    ball, race, width = joint.ball_diameter, joint.race_width, joint.ball_width
    if ball is None or race is None or width is None:
        return None
    neck, shoulder, over = joint.neck_diameter, joint.shoulder_diameter, joint.width_over_spacers
    side = race if joint.head_width is None else joint.head_width
    if neck is None:
        limit = face_tilt_limit(
            width, side, ball_diameter=ball, shoulder_diameter=0.0 if shoulder is None else shoulder
        )
    elif over is None or shoulder is None:
        limit = pin_tilt_limit(neck, race, ball_diameter=ball)
    else:
        cone = cone_diameter_at_ball(
            neck, shoulder, ball_width=width, width_over_spacers=over, ball_diameter=ball
        )
        limit = np.minimum(
            pin_tilt_limit(cone, race, ball_diameter=ball),
            face_tilt_limit(over, side, ball_diameter=ball, shoulder_diameter=shoulder),
        )
    return float(np.degrees(limit))
