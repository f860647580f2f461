"""How a wheel steers itself per travel and per roll, in the words of the standards."""

import numpy as np

from geometry.side_effects import RATE_TRAVEL, roll_steer_gradient, travel_rate
from geometry.vectors import Array
from optimizer.car.adjust import Settings, side_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import Wheel, pair
from optimizer.models.side_effects import Gradient

RIDE_TOE = (
    "change of this wheel's toe, toe-in positive, per wheel travel, bump positive, both wheels "
    "moved together: the slope at ride height, not the range over the travel (SAE J1574)"
)
RIDE_STEER = (
    "ride steer gradient as ISO 23365:2022, 7.2.5, uses the words: the same with the sign of the "
    "steer angle, positive to the left (ISO 8855), so toe-in is negative on a left wheel"
)
ROLL_STEER = (
    "roll steer gradient as ISO 23365:2022, 7.2.13, uses the words: change of steer angle, "
    "positive to the left, per roll angle of the body, positive to the right, with the wheels "
    "moved opposite ways (roll angle = 2 x travel / track) and the slope taken at ride height "
    "(SAE J1574); toe-in in bump makes it positive"
)


def gradients(evaluator: Evaluator, settings: Settings, wheel: Wheel) -> dict[str, Gradient]:
    """Ride toe, ride steer and roll steer gradients of one or two cars."""
    toe_rate = travel_rate(wheel.toe[:, : RATE_TRAVEL.size])
    to_the_left = -1.0 if side_of(evaluator.case) == "left" else 1.0
    per_meter = 1000.0 * np.degrees(toe_rate)
    return {
        "ride_toe_gradient": _gradient(per_meter, "deg/m", RIDE_TOE),
        "ride_steer_gradient": _gradient(to_the_left * per_meter, "deg/m", RIDE_STEER),
        "roll_steer_gradient": _gradient(
            _roll_steer(evaluator, settings, toe_rate), "deg/deg", ROLL_STEER
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


def _gradient(values: Array, unit_name: str, definition: str) -> Gradient:
    return Gradient(**pair(values).model_dump(), unit=unit_name, definition=definition)
