"""Trade-offs of a custom pivot: less change of the car for a little more toe.

The best pivot is refined again within shorter and shorter distances of the standard place; those
and the best pivots of the other lots are offered where no other of them beats them on peak toe
change, change of hardware, clearance and change of the steering ratio.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.adjust import Settings
from optimizer.options.moves.lots import CarPivot, CustomCar
from optimizer.options.moves.polish import refined
from optimizer.options.moves.scores import CustomScores, Pivots, distance, joined
from optimizer.options.trade_offs import in_steps, unbeaten

SHARES = (0.8, 0.6, 0.4, 0.2)  # of the distance that the best pivot has moved
CHANGE_STEP = 0.1  # mm


@dataclass(frozen=True)
class CustomTradeOff:
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
        Best peak first; only pivots that fit, possibly none.
    """
    nearer = zip(*map(_nearer, car.wheels, known[0].wheels), strict=True)
    offers = [*known, *map(CarPivot, nearer)]
    wheels = [
        _counts(scores, joined([offer.wheels[k] for offer in offers]))
        for k, scores in enumerate(car.wheels)
    ]
    found = []
    for offer, *counts in zip(offers, *wheels, strict=True):
        if offer.violation == 0.0 and offer.peak <= most_peak:
            change, clearance, rate_change = zip(*counts, strict=True)
            found.append(CustomTradeOff(offer, sum(change), min(clearance), rate_change))
    return _unbeaten(found)


def _nearer(scores: CustomScores, best: Pivots) -> list[Pivots]:
    """A wheel's pivots nearer to the standard place than its best one, one for each share."""
    (choice,), (moves,) = best.choices, best.moves
    return [
        refined(scores, choice, share * moves, most=share * float(distance(moves)))
        for share in SHARES
    ]


def _counts(scores: CustomScores, pivots: Pivots) -> list[tuple[float, float, float]]:
    """Change of hardware, clearance and change of the steer rate of a wheel's pivots."""
    change = scores.space.change(pivots.choices, pivots.moves)
    clearance = scores.violation_and_clearance(pivots.choices, pivots.moves)[1]
    faster = np.zeros(len(change))
    if scores.evaluator.case.words.steers:
        as_is = scores.evaluator.steer_rate(Settings.single())[0]
        faster = scores.steer_rate(pivots.choices, pivots.moves) / as_is - 1.0
    return list(zip(change.tolist(), clearance.tolist(), faster.tolist(), strict=True))


def _unbeaten(found: Sequence[CustomTradeOff]) -> list[CustomTradeOff]:
    """Those that no other one beats, one of those that count alike, best peak first."""
    if not found:
        return []
    steps, rows = np.unique([offer.steps for offer in found], axis=0, return_index=True)
    kept = [found[row] for row in rows[unbeaten(steps)]]
    return sorted(kept, key=lambda offer: offer.pivot.peak)
