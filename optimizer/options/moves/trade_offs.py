"""Trade-offs of a custom pivot: less change of the car for a little more toe.

The best pivot is refined again within shorter and shorter distances of the standard place; those
and the best pivots of the other lots are offered where no other of them beats them on peak toe
change, change of hardware, clearance and change of the steering ratio.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from geometry.vectors import Array
from optimizer.car.settings import Settings
from optimizer.options.moves.lots import CarPivot, CustomCar
from optimizer.options.moves.polish import refined, refined_without_limits
from optimizer.options.moves.scores import CustomScores, Pivots, distance, joined
from optimizer.options.trade_offs import in_steps, unbeaten

SHARES = (0.75, 0.55, 0.4, 0.25)  # of the distance that the best pivot has moved
CHANGE_STEP = 0.1  # mm


class CustomTradeOff(Struct, frozen=True):
    """A custom pivot and what it counts.

    `change` is how far pivots, stack, rack and ball joint move, all added up [mm]; `clearance` is
    infinite where no obstacle is stated [mm]; `rate_change` is each wheel's steer rate over that of
    the car as it is, less 1, and 0 on a rear axle.
    """

    pivot: CarPivot
    change: float
    clearance: float
    rate_change: tuple[float, ...]

    @property
    def steps(self) -> Array:
        """Counts in steps too small to print, smaller is better, (4,)."""
        rate = np.array(max(map(abs, self.rate_change)))
        counts = in_steps(np.array(self.pivot.peak), np.array(self.clearance), rate)
        return np.append(counts, np.round(self.change / CHANGE_STEP))


def custom_trade_offs(
    car: CustomCar, known: Sequence[CarPivot], most_peak: float
) -> list[CustomTradeOff]:
    """Pivots that give away some toe for less change.

    Parameters
    ----------
    car : CustomCar
        The wheels and their spaces.
    known : sequence of CarPivot
        Pivots to choose from, beside those nearer than the first.
    most_peak : float
        The most toe to accept. [rad]

    Returns
    -------
    list of CustomTradeOff
        Best peak first; only pivots that fit, and none where the first of the known does not.
    """
    if known[0].violation > 0.0:
        return []
    wheels = [
        _offered(scores, joined([pivot.wheels[k] for pivot in known]))
        for k, scores in enumerate(car.wheels)
    ]
    found = []
    for row in zip(*wheels, strict=True):
        pivots, change, clearance, rate_change = zip(*row, strict=True)
        pivot = CarPivot(pivots)
        if pivot.violation == 0.0 and pivot.peak <= most_peak:
            found.append(CustomTradeOff(pivot, sum(change), min(clearance), rate_change))
    return _unbeaten(found)


def _offered(scores: CustomScores, known: Pivots) -> list[tuple[Pivots, float, float, float]]:
    """A wheel's known pivots and those nearer than the first, one row each, and what they count.

    That is change of hardware, clearance and change of the steer rate.
    """
    choice, moves = known.choices[0], known.moves[0]
    most = np.array(SHARES) * float(distance(moves))
    nearer = [
        refined_without_limits(scores, choice, share * moves, most=far)
        for share, far in zip(SHARES, most.tolist(), strict=True)
    ]
    choices = np.concatenate([known.choices, np.tile(choice, (len(SHARES), 1))])
    moves = np.concatenate([known.moves, nearer])
    violation, clearance = scores.violation_and_clearance(choices, moves)
    again = np.flatnonzero(violation > 0.0)
    again = again[again >= len(known.peak)]
    for row in again.tolist():
        far = float(most[row - len(known.peak)])
        moves[row] = refined(scores, choice, moves[row], most=far, free=False).moves[0]
    if again.size:
        violation[again], clearance[again] = scores.violation_and_clearance(
            choices[again], moves[again]
        )
    pivots = Pivots(choices, moves, scores.peak(choices, moves), violation)
    change = scores.space.change(choices, moves)
    faster = np.zeros(len(change))
    if scores.evaluator.case.words.steers:
        as_is = scores.evaluator.steer_rate(Settings.single())[0]
        faster = scores.steer_rate(choices, moves) / as_is - 1.0
    counts = zip(change.tolist(), clearance.tolist(), faster.tolist(), strict=True)
    return [(pivots.rows(np.array([row])), *of_row) for row, of_row in enumerate(counts)]


def _unbeaten(found: Sequence[CustomTradeOff]) -> list[CustomTradeOff]:
    """Those that no other one beats, one of those that count alike, best peak first."""
    if not found:
        return []
    steps, rows = np.unique([offer.steps for offer in found], axis=0, return_index=True)
    kept = [found[row] for row in rows[unbeaten(steps)]]
    return sorted(kept, key=lambda offer: offer.pivot.peak)
