"""What is wanted of the car beside the toe curve straight ahead: limits of `[aim.also]`."""

from collections.abc import Iterator

import numpy as np

from geometry.steering import turn_toe_out
from geometry.toe_curve import toe_change
from geometry.vectors import Array, turned
from geometry.wheel_angles import toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import STEERED_EVERY, steered_at
from optimizer.car.settings import Settings
from optimizer.car.wanted import wanted_change
from optimizer.limits.watched import Margin


def also_margins(evaluator: Evaluator, settings: Settings) -> list[Margin]:
    """Limits of steered toe curves and of turn toe-out, where the case states them.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.

    Returns
    -------
    list of Margin
        Of kind "steered" and "turn" [deg]; infinite out of reach, which is a limit of its own.
    """
    also, rack = evaluator.case.aim.also, np.array(steered_at(evaluator.case))
    if also is None or not rack.size:
        return []
    travel = evaluator.travel[evaluator.home % STEERED_EVERY :: STEERED_EVERY]
    sides = np.unique(np.abs(rack))
    at = np.concatenate([np.repeat(rack, travel.size), sides, -sides, [0.0]])
    heights = np.concatenate([np.tile(travel, rack.size), np.zeros(2 * sides.size + 1)])
    motion = evaluator.motion(settings, heights, at)
    toe = toe_angle(turned(motion.rotation, evaluator.corner.spin))
    steered, turns = np.split(toe, [rack.size * travel.size], axis=1)
    found = []
    if also.steered_deg is not None:
        curves = steered.reshape(-1, rack.size, travel.size)
        found.append(_steered(evaluator, curves, (rack, travel), also.steered_deg))
    if also.turn_toe_out_deg is not None:
        one_way, other_way, straight = np.split(turns, [sides.size, 2 * sides.size], axis=1)
        out = np.degrees(turn_toe_out(straight, one_way, other_way))
        found += _turns(out, sides, also.turn_toe_out_deg)
    return found


def _steered(
    evaluator: Evaluator, curves: Array, places: tuple[Array, Array], most: float
) -> Margin:
    """The largest toe change with the rack off center, over curves (M, S, T)."""
    rack, travel = places
    change = toe_change(travel, curves, wanted_change(evaluator.case.aim, travel))
    size = np.nan_to_num(np.degrees(np.abs(change)), nan=-np.inf).reshape(len(curves), -1)
    worst = np.argmax(size, axis=1)
    value = size[np.arange(len(size)), worst]
    at_rack, at_travel = np.divmod(worst, travel.size)
    name = "toe change off center"
    return Margin("steered", name, value, most, most - value, travel[at_travel], rack[at_rack])


def _turns(out: Array, sides: Array, within: tuple[float, float]) -> Iterator[Margin]:
    """Least and most turn toe-out (M, K) at rack travels (K,), each against its limit."""
    for name, limit, way in (("least", within[0], 1.0), ("most", within[1], -1.0)):
        margin = np.nan_to_num(way * (out - limit), nan=np.inf)
        worst = np.argmin(margin, axis=1)
        rows = np.arange(len(out))
        at, home = sides[worst], np.zeros(len(out))
        yield Margin("turn", name, out[rows, worst], limit, margin[rows, worst], home, at)
