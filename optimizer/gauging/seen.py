"""What a gauge sees of a wheel that the model moves: toe, and with some gauges more than toe.

A dial or a target that stands still also sees the wheel move sideways and change camber; the model
knows both, so it can say what such a gauge shows and how much of that is not toe.  Two targets
cancel what the wheel moves, but not that a beam tips as caster changes: in the plane of a wheel
with camber it then goes sideways too::

      . plate ./.......... a lone dial reads y here: toe x distance,
      |  wheel |           plus what the whole wheel has moved
"""

import numpy as np

from geometry.motion import Motion
from geometry.vectors import Array, cross, turned, unit
from geometry.wheel_angles import toe_angle
from optimizer.car.adjust import UP, Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped, sampled_motion
from optimizer.car.settings import Settings
from optimizer.gauging.conversions import Gauge


def gauge_toe(gauge: Gauge, corner: Corner, motion: Motion) -> Array:
    """Toe that a gauge makes of what it sees of every moved car.

    Parameters
    ----------
    gauge : Gauge
        For one that tells toe alone this is the toe angle itself.
    corner : Corner
        N cars, as `optimizer.car.sampled.moved_corner` gives them.
    motion : Motion
        Their poses (N, T), ride height last: there the gauge is set up.

    Returns
    -------
    (N, T) float array
        Positive toe-in, up to a constant for a gauge that stands still; NaN out of reach. [rad]
    """
    if gauge.fixed is None:
        return toe_angle(turned(motion.rotation, corner.spin))
    if gauge.fixed == "wall":
        along = _wall_place(corner, motion, gauge.ahead)
        on_wall: Array = np.arctan((along - along[..., -1:]) / gauge.ahead)
        return on_wall
    place = dial_place if gauge.fixed == "dial" else _spot_place
    sideways = place(corner, motion, gauge.ahead)
    if gauge.behind:
        sideways -= place(corner, motion, -gauge.behind)
    apart = gauge.ahead + gauge.behind
    toe: Array = np.arctan((sideways[..., -1:] - sideways) / apart)
    return toe


def seen_toe(
    gauge: Gauge, evaluator: Evaluator, corner: Corner, setting: Settings, travel: Array
) -> Array:
    """Toe that a gauge makes of every moved car at wheel travels (T,), (N, T), as `gauge_toe`."""
    motion = sampled_motion(evaluator, corner, setting, np.append(travel, 0.0))
    return gauge_toe(gauge, corner, motion)[..., :-1]


def contamination(gauge: Gauge, evaluator: Evaluator, setting: Settings, travel: Array) -> Array:
    """How much of what the gauge calls a toe change is none, by the case's points, (T,). [rad]."""
    corner = as_taped(evaluator)
    motion = sampled_motion(evaluator, corner, setting, np.append(travel, 0.0))
    seen = gauge_toe(gauge, corner, motion)[0]
    toe = toe_angle(turned(motion.rotation, corner.spin))[0]
    more: Array = (seen - seen[-1]) - (toe - toe[-1])
    return more[:-1]


def dial_place(corner: Corner, motion: Motion, ahead: float) -> Array:
    """Where a plate through the wheel center is met by a dial that points across the car. [mm]."""
    center = motion.moved(corner.points["wheel_center"])
    spin = turned(motion.rotation, corner.spin)
    beside = center[..., -1:, 0] + ahead - center[..., 0]
    above = center[..., -1:, 2] - center[..., 2]
    place: Array = center[..., 1] - (spin[..., 0] * beside + spin[..., 2] * above) / spin[..., 1]
    return place


def _wall_place(corner: Corner, motion: Motion, beside: float) -> Array:
    """Where a beam along the spin axis meets a wall beside the car, forward positive. [mm]."""
    center = motion.moved(corner.points["wheel_center"])
    spin = turned(motion.rotation, corner.spin)
    reach = center[..., -1:, 1] + beside - center[..., 1]
    place: Array = center[..., 0] + reach * spin[..., 0] / spin[..., 1]
    return place


def _spot_place(corner: Corner, motion: Motion, ahead: float) -> Array:
    """Where a beam in the wheel's plane, level at ride height, meets a target board. [mm]."""
    center = motion.moved(corner.points["wheel_center"])
    home = motion.rotation[..., -1:, :, :]
    level = unit(cross(turned(home, corner.spin), UP))
    beam = turned(motion.rotation, turned(np.swapaxes(home, -1, -2), level))
    reach = center[..., -1:, 0] + ahead - center[..., 0]
    place: Array = center[..., 1] + reach * beam[..., 1] / beam[..., 0]
    return place
