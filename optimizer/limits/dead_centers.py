"""How near a car comes to dead centers, where a push moves nothing: a warning before it jams.

Three kinds.  A rod in one line with the arm that it moves does not turn it; a rod square to the way
of the rack (or pitman ball) is not moved by it; and where the path of the wheel center lies level,
strut or links can't be pressed on.  The angle to be kept from each is common practice, no source.
"""

from collections.abc import Iterator

import numpy as np

from geometry.motion import Motion
from geometry.vectors import Array, dot, norm, unit
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.limits.lock_up import CROSS_ROD, rod_arm_cosines
from optimizer.limits.margins import first_places, first_sides
from optimizer.models.stops import DeadCenter, DeadCenterKind

Angles = Iterator[tuple[DeadCenterKind, Array]]


def dead_centers(evaluator: Evaluator, settings: Settings) -> list[list[DeadCenter]]:
    """How near M candidates come to each kind of dead center over travel x lock, nearest first.

    Looked at where limits are looked at first; an angle of which nothing is known is left out.
    """
    rack, travel = first_places(evaluator)
    motion = evaluator.motion(settings, travel, rack)
    side, least = evaluator.case.side, evaluator.case.limits.transmission_angle_deg
    found: list[list[DeadCenter]] = [[] for _ in range(len(settings))]
    for kind, angle in _angles(evaluator, settings, motion, rack):
        known = np.where(np.isnan(angle), np.inf, np.degrees(angle))
        for row, at in enumerate(known.argmin(axis=1).tolist()):
            if np.isfinite(known[row, at]):
                place = {"travel_mm": travel[at], "rack_travel_mm": rack[at]}
                nearest = DeadCenter(
                    kind=kind, side=side, angle_deg=known[row, at], least_deg=least, **place
                )
                found[row].append(nearest)
    return [sorted(row, key=lambda one: one.angle_deg) for row in found]


def _angles(evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array) -> Angles:
    """Angle from each kind of dead center, (M, T). [rad]."""
    for name, cosine in rod_arm_cosines(evaluator, settings, motion, rack).items():
        kind: DeadCenterKind = "cross-rod" if name == CROSS_ROD else "rod-arm"
        yield kind, np.arccos(np.minimum(np.abs(cosine).max(axis=-1), 1.0))
    if evaluator.case.steering.rack_travel:
        outer, inner = evaluator.rod_ends(settings, motion, rack)
        along = dot(unit(outer - inner), evaluator.rack_way(settings))
        same_way = np.sign(along[:, [along.shape[1] // 2]])  # ride height, straight ahead
        yield "inner", np.arcsin(np.clip(same_way * along, 0.0, 1.0))
    yield "wheel", _rise_angle(evaluator, motion)


def _rise_angle(evaluator: Evaluator, motion: Motion) -> Array:
    """Angle from level at which the wheel center goes on to the next height, (M, T). [rad]."""
    center = motion.moved(evaluator.corner.points["wheel_center"])
    racks, heights = (side.size for side in first_sides(evaluator))
    path = center.reshape(len(center), racks, heights, 3)
    step = np.diff(path, axis=2)
    angle = np.full(path.shape[:-1], np.nan)
    angle[:, :, 1:] = np.arcsin(np.abs(step[..., 2]) / norm(step))
    return angle.reshape(len(center), -1)
