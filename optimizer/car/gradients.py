"""How a wheel steers itself per travel and per roll, as the standards mean it."""

import numpy as np

from geometry.side_effects import RATE_TRAVEL, roll_steer_gradient, travel_rate
from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import Wheel, pair
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
            _roll_steer(evaluator, settings, toe_rate), "deg/deg", "roll-steer"
        ),
    }


def _roll_steer(evaluator: Evaluator, settings: Settings, toe_rate: Array) -> Array:
    """Steer of both wheels on average; those of a beam axle are rolled together."""
    track = evaluator.case.car.track
    if track is None:
        return np.full(len(settings), np.nan)
    if not evaluator.corner.on_beam:
        return roll_steer_gradient(toe_rate, track)
    rolling = evaluator.rolling()
    wheel = Wheel.seen(rolling, settings, rolling.motion(settings, RATE_TRAVEL))
    assert wheel.other_toe is not None
    return roll_steer_gradient(0.5 * travel_rate(wheel.toe - wheel.other_toe), track)


def _gradient(values: Array, unit_name: str, kind: GradientKind) -> Gradient:
    definition = Definition(kind=kind)
    return Gradient(**pair(values).model_dump(), unit=unit_name, definition=definition)
