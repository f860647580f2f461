"""How a wheel steers itself per travel and per roll, as the standards mean it."""

import numpy as np

from geometry.side_effects import RATE_TRAVEL, roll_steer_gradient, travel_rate
from geometry.vectors import Array, turned
from geometry.wheel_angles import toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import MIRROR, Wheel, pair
from optimizer.car.settings import Settings
from optimizer.models.side_effects import Definition, Gradient, GradientKind


def gradients(evaluator: Evaluator, settings: Settings, wheel: Wheel) -> dict[str, Gradient]:
    """Ride toe, ride steer and roll steer gradients of one or two cars."""
    toe_rate = travel_rate(wheel.toe[:, : RATE_TRAVEL.size])
    to_the_left = -1.0 if evaluator.case.side == "left" else 1.0
    per_meter = 1000.0 * np.degrees(toe_rate)
    return {
        "ride_toe_gradient": _gradient(per_meter, "deg/m", "ride-toe"),
        "ride_steer_gradient": _gradient(to_the_left * per_meter, "deg/m", "ride-steer"),
        "roll_steer_gradient": _gradient(
            roll_steer(evaluator, settings, toe_rate), "deg/deg", "roll-steer"
        ),
    }


def roll_steer(evaluator: Evaluator, settings: Settings, toe_rate: Array) -> Array:
    """Steer of both wheels per roll, (M,), the other wheel a mirror image; NaN without a track.

    Of a wheel that toes with its travel by `toe_rate` (M,) [rad/mm]; those of a beam axle are
    rolled together. [rad/rad]
    """
    track = evaluator.case.car.track
    if track is None:
        return np.full(len(settings), np.nan)
    if not evaluator.corner.on_beam:
        return roll_steer_gradient(toe_rate, track)
    motion, spin = evaluator.rolled(settings, RATE_TRAVEL), evaluator.corner.spin
    assert motion.other_wheel is not None
    other = MIRROR * turned(motion.other_wheel.rotation, MIRROR * spin)
    apart = toe_angle(turned(motion.rotation, spin)) - toe_angle(other)
    return roll_steer_gradient(0.5 * travel_rate(apart), track)


def _gradient(values: Array, unit_name: str, kind: GradientKind) -> Gradient:
    definition = Definition(kind=kind)
    return Gradient(**pair(values).model_dump(), unit=unit_name, definition=definition)
