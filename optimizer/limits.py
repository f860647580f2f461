"""What stops a setting: tilt of the rod ends and gaps, over wheel travel x rack travel."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.clearance import Capsule, capsule_gap, disc_gap
from geometry.linkages.lower_arm import extended_joint
from geometry.motion import Motion
from geometry.rim import rim_gap
from geometry.rod_ends import face_tilt_limit, inner_tilt, outer_tilt, pin_tilt_limit
from geometry.vectors import Array, turned, unit
from optimizer.adjust import Settings, mirror_of
from optimizer.evaluate import Evaluator
from optimizer.models.limits import Disc, LowerArm, Obstacle, Rim, TiltLimit

RACK_STEPS = 5  # rack positions from lock to lock, straight ahead among them
EVERY = 2  # of the scored heights, every second is checked, both ends and ride height among them


@dataclass(frozen=True)
class Margin:
    """One limit of each candidate at its worst place.

    `kind` is "tilt" [deg], "gap" [mm] or "reach"; `value` and `margin` are (M,), `margin` positive
    when safe; `travel` and `rack_travel` (M,) say where the worst is. [mm]
    """

    kind: str
    name: str
    value: Array
    limit: float
    margin: Array
    travel: Array
    rack_travel: Array


def margins(evaluator: Evaluator, settings: Settings, *, ends_only: bool = False) -> list[Margin]:
    """Every limit that the case states, for each candidate.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    ends_only : bool
        Check only both ends and the middle of travel and of rack travel.  What is broken there is
        broken; what is kept there may still be broken elsewhere.

    Returns
    -------
    list of Margin
        Whether the linkage follows at all comes first.
    """
    rack, travel = _places(evaluator, ends_only=ends_only)
    motion = evaluator.motion(settings, travel, rack)
    corner = evaluator.corner
    outer, inner = corner.pivots(settings)
    outer_now = motion.moved(outer[:, None, :])
    inner_now = inner[:, None, :] + rack[:, None] * corner.rack_axis
    home = int(np.flatnonzero((travel == 0.0) & (rack == 0.0))[0])
    found = [
        _worst("reach", "full lock", np.where(motion.reach == 0, 1.0, -1.0), 0.0, travel, rack)
    ]
    found += [
        _worst(kind, name, value, limit, travel, rack)
        for kind, name, value, limit in (
            *_tilts(evaluator, motion, outer_now, inner_now, home),
            *_gaps(evaluator, settings, motion, outer_now, inner_now),
        )
    ]
    return found


def _places(evaluator: Evaluator, *, ends_only: bool) -> tuple[Array, Array]:
    """Rack travel and wheel travel of every place at which limits are checked, (T,) each. [mm]."""
    full, home = evaluator.case.steering.rack_travel, evaluator.home
    up, down = evaluator.travel[home:], evaluator.travel[: home + 1]
    if ends_only:
        racks, heights = np.array([-full, 0.0, full]), np.array([down[0], 0.0, up[-1]])
    else:
        racks = np.linspace(-full, full, RACK_STEPS)
        heights = np.concatenate([down[::-EVERY], up[::EVERY]])
    rack, travel = np.meshgrid(np.unique(racks), np.unique(heights), indexing="ij")
    return rack.ravel(), travel.ravel()


Found = tuple[str, str, Array, float]


def _worst(kind: str, name: str, value: Array, limit: float, travel: Array, rack: Array) -> Margin:
    margin = limit - value if kind == "tilt" else value - limit
    margin = np.where(np.isnan(margin), np.inf, margin)
    at = np.argmin(margin, axis=1)
    rows = np.arange(len(margin))
    return Margin(kind, name, value[rows, at], limit, margin[rows, at], travel[at], rack[at])


def _tilts(
    evaluator: Evaluator, motion: Motion, outer_now: Array, inner_now: Array, home: int
) -> Iterator[Found]:
    corner, joint = evaluator.corner, evaluator.case.joint
    direction = unit(outer_now - inner_now)
    outer_limit, inner_limit = tilt_limit_deg(joint.outer), tilt_limit_deg(joint.inner)
    if outer_limit is not None:
        bolt = turned(motion.rotation, corner.bolt_axis)
        tilt = outer_tilt(
            direction,
            bolt,
            rod_turns=joint.rod_turns,
            rod_reference=direction[:, home, None],
            bolt_reference=bolt[:, home, None],
        )
        yield "tilt", "outer joint", np.degrees(tilt), outer_limit
    if inner_limit is not None:
        yield (
            "tilt",
            "inner joint",
            np.degrees(inner_tilt(direction, corner.rack_axis)),
            inner_limit,
        )


def tilt_limit_deg(joint: TiltLimit) -> float | None:
    """Tilt at which a joint binds, as given or from its dimensions; None if not stated. [deg]."""
    if joint.tilt_limit_deg is not None:
        return joint.tilt_limit_deg
    if joint.ball_width is None or joint.race_width is None or joint.ball_diameter is None:
        return None
    if joint.neck_diameter is not None:
        limit = pin_tilt_limit(
            joint.neck_diameter, joint.race_width, ball_diameter=joint.ball_diameter
        )
    else:
        limit = face_tilt_limit(
            joint.ball_width, joint.race_width, ball_diameter=joint.ball_diameter
        )
    return float(np.degrees(limit))


def _gaps(
    evaluator: Evaluator,
    settings: Settings,
    motion: Motion,
    outer_now: Array,
    inner_now: Array,
) -> Iterator[Found]:
    case, corner = evaluator.case, evaluator.corner
    rod = Capsule(inner_now, outer_now, np.asarray(0.5 * case.joint.rod_diameter))
    radius = 0.5 * case.joint.housing_diameter
    half = max(0.0, 0.5 * case.joint.housing_height - radius)
    bolt = half * turned(motion.rotation, corner.bolt_axis)
    housing = Capsule(outer_now - bolt, outer_now + bolt, np.asarray(radius))
    for obstacle in case.obstacles:
        for part, capsule in (("rod", rod), ("outer joint", housing)):
            name = f"{part} to {obstacle.name}"
            gap = _obstacle_gap(capsule, obstacle, evaluator, settings, motion)
            yield "gap", name, gap, obstacle.gap


def _obstacle_gap(
    capsule: Capsule,
    obstacle: Obstacle,
    evaluator: Evaluator,
    settings: Settings,
    motion: Motion,
) -> Array:
    """Gap of one capsule (M, T) to one obstacle, wherever it is now. [mm]."""
    corner = evaluator.corner
    if isinstance(obstacle, Rim | Disc):
        center = motion.moved(corner.points["wheel_center"])
        axis = turned(motion.rotation, corner.spin)
        stations = {"inboard": obstacle.inboard, "outboard": obstacle.outboard}
        if isinstance(obstacle, Rim):
            return rim_gap(
                capsule, center, axis, inside_diameter=obstacle.inside_diameter, **stations
            )
        return disc_gap(capsule, center, axis, diameter=obstacle.diameter, **stations)
    radius = np.asarray(0.5 * obstacle.diameter)
    if isinstance(obstacle, LowerArm):
        joint = extended_joint(corner.points["lower_ball_joint"], settings.ball_joint_drop[:, None])
        ball_joint = motion.moved(joint)
        legs = (corner.points["lower_arm_front"], corner.points["lower_arm_rear"])
        gaps = [capsule_gap(capsule, Capsule(leg, ball_joint, radius)) for leg in legs]
        return np.minimum(*gaps)
    mirror = mirror_of(evaluator.case)
    ends = [np.array(end) * mirror for end in (obstacle.start, obstacle.end)]
    if obstacle.fixed_to == "upright":
        ends = [motion.moved(end) for end in ends]
    return capsule_gap(capsule, Capsule(ends[0], ends[1], radius))
