"""What is wanted of the car beside the toe curve straight ahead: limits of `[aim.also]`."""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from geometry.side_effects import RATE_TRAVEL, travel_rate
from geometry.steering import turn_toe_out
from geometry.toe_curve import toe_change
from geometry.vectors import Array, turned
from geometry.wheel_angles import toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.gradients import roll_steer
from optimizer.car.looked_at import STEERED_EVERY, steered_at
from optimizer.car.settings import Settings
from optimizer.car.wanted import wanted_change
from optimizer.limits.watched import Margin


class Beside(Struct, frozen=True):
    """One limit beside the toe curve, of M candidates at P places.

    `left` (M, P) is what each leaves of it, smooth in the points, positive where it is kept and NaN
    out of reach; `value` (M, P) what it is; `travel` and `rack` (P,) say where. [deg, mm]
    """

    kind: str
    name: str
    limit: float
    value: Array
    left: Array
    travel: Array
    rack: Array

    def worst(self) -> Margin:
        """The least of all places; infinite out of reach, which is a limit of its own."""
        left = np.where(np.isnan(self.left), np.inf, self.left)
        at, rows = np.argmin(left, axis=1), np.arange(len(left))
        value, left = self.value[rows, at], left[rows, at]
        return Margin(self.kind, self.name, value, self.limit, left, self.travel[at], self.rack[at])


def also_margins(evaluator: Evaluator, settings: Settings) -> list[Margin]:
    """Limits beside the toe curve, each where it is worst, as `beside`."""
    return [one.worst() for one in beside(evaluator, settings)]


def beside(evaluator: Evaluator, settings: Settings) -> Iterator[Beside]:
    """Limits of steered toe curves, of turn toe-out and of roll steer, where the case states them.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.

    Yields
    ------
    Beside
        Of kind "steered" and "turn" [deg], or "roll" [deg per deg].
    """
    also, rack = evaluator.case.aim.also, np.array(steered_at(evaluator.case))
    if also is None:
        return
    if rack.size and (also.steered_deg is not None or also.turn_toe_out_deg is not None):
        yield from _off_center(evaluator, settings, rack)
    if also.roll_steer is not None:
        toe_rate = travel_rate(evaluator.toe(settings, RATE_TRAVEL))
        gradient = roll_steer(evaluator, settings, toe_rate)
        yield from _within("roll", gradient[:, None], also.roll_steer, np.zeros(1))


def _off_center(evaluator: Evaluator, settings: Settings, rack: Array) -> Iterator[Beside]:
    also = evaluator.case.aim.also
    assert also is not None
    travel = evaluator.travel[evaluator.home % STEERED_EVERY :: STEERED_EVERY]
    sides = np.unique(np.abs(rack))
    at = np.concatenate([np.repeat(rack, travel.size), sides, -sides, [0.0]])
    heights = np.concatenate([np.tile(travel, rack.size), np.zeros(2 * sides.size + 1)])
    motion = evaluator.motion(settings, heights, at)
    toe = toe_angle(turned(motion.rotation, evaluator.corner.spin))
    steered, turns = np.split(toe, [rack.size * travel.size], axis=1)
    if also.steered_deg is not None:
        curves = steered.reshape(-1, rack.size, travel.size)
        yield _steered(evaluator, curves, (rack, travel), also.steered_deg)
    if also.turn_toe_out_deg is not None:
        one_way, other_way, straight = np.split(turns, [sides.size, 2 * sides.size], axis=1)
        out = np.degrees(turn_toe_out(straight, one_way, other_way))
        yield from _within("turn", out, also.turn_toe_out_deg, sides)


def _steered(
    evaluator: Evaluator, curves: Array, places: tuple[Array, Array], most: float
) -> Beside:
    """Toe change with the rack off center, over curves (M, S, T), either way."""
    rack, travel = places
    change = np.degrees(toe_change(travel, curves, wanted_change(evaluator.case.aim, travel)))
    size = change.reshape(len(curves), -1)
    both = np.hstack([size, -size])
    heights, racks = np.tile(travel, 2 * rack.size), np.tile(np.repeat(rack, travel.size), 2)
    return Beside("steered", "toe change off center", most, both, most - both, heights, racks)


def _within(kind: str, value: Array, within: tuple[float, float], rack: Array) -> Iterator[Beside]:
    """The least and the most of a figure (M, P) at rack travels (P,), ride height."""
    home = np.zeros(rack.size)
    yield Beside(kind, "least", within[0], value, value - within[0], home, rack)
    yield Beside(kind, "most", within[1], value, within[1] - value, home, rack)
