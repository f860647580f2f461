"""What is lost by deciding now, or after a reading, over the cars that are still possible.

Toe change is taken as linear in the points about the most probable ones, and the cars as normal.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings
from optimizer.gauging.fit import NUDGE, FittedPoints, linearized, nudged_cars
from optimizer.gauging.next_stack import sampled_changes
from optimizer.gauging.observation import Observation

DRAWS = 400
PAIRS = 20  # of draws to both sides, over what a reading leaves open
FEW_ROWS = 8  # of readings that are not at the heights of the sweep


@dataclass(frozen=True)
class _Decision:
    """Which of M settings is best, to first order: toe change (M, T) and its rates (M, T, 3P)."""

    change: Array
    rates: Array

    def peaks(self, errors: Array) -> Array:
        """Peak of each setting in each car, (N, 3P) from the most probable one to (N, M). [rad]."""
        peaks: Array = np.abs(self.change + self._moved(errors)).max(axis=2)
        return peaks

    def best(self, believed: Array, left_open: Array) -> Rows:
        """Setting with the smallest expected peak, (N,).

        Of cars believed to be at errors (N, 3P) from the most probable one, give or take any of
        `left_open` (K, 3P).
        """
        change, open_to = (
            np.ascontiguousarray(
                np.moveaxis(one, 2, 0)
            )  # largest of heights: fastest over the first
            for one in (self.change + self._moved(believed), self._moved(left_open))
        )
        expected = sum(
            np.abs(change + open_to[:, k, None]).max(axis=0) for k in range(len(left_open))
        )
        best: Rows = np.argmin(expected, axis=1)
        return best

    def _moved(self, errors: Array) -> Array:
        """How far errors (N, 3P) move the toe changes, (N, M, T). [rad]."""
        count, heights, size = self.rates.shape
        moved: Array = (errors @ self.rates.reshape(-1, size).T).reshape(-1, count, heights)
        return moved


@dataclass(frozen=True)
class Weighed:
    """A decision, and the cars that are still possible to take it in.

    `cars` (N, 3P) from the most probable one, `peaks` (N, M) of what may be chosen in them, `noise`
    (N, K) of readings yet to be taken, `half` (K, 3P) of cars that those leave open.
    """

    tape: Evaluator
    fit: FittedPoints
    decision: _Decision
    cars: Array
    peaks: Array
    noise: Array
    half: Array

    @staticmethod
    def of(
        tape: Evaluator, fit: FittedPoints, considered: Settings, rows: int, seed: int
    ) -> "Weighed":
        """Draw the cars; what is best in none of them, nor on average, is left out."""
        decision, rng = _decision(tape, fit, considered), np.random.default_rng(seed)
        size, most = fit.errors.size, max(rows, FEW_ROWS)
        cars = rng.normal(size=(DRAWS, size)) @ np.linalg.cholesky(fit.covariance).T
        peaks = decision.peaks(cars)
        kept = np.unique([*np.argmin(peaks, axis=1), np.argmin(peaks.mean(axis=0))])
        few = _Decision(decision.change[kept], decision.rates[kept])
        half, noise = rng.normal(size=(PAIRS, size)), rng.normal(size=(DRAWS, most))
        return Weighed(tape, fit, few, cars, peaks[:, kept], noise, half)

    @property
    def as_it_is(self) -> Array:
        """What is lost in each car with nothing more read, (N,). [rad]."""
        return _loss(self.peaks, np.repeat(np.argmin(self.peaks.mean(axis=0)), DRAWS))

    def after(self, readings: Sequence[Observation]) -> list[Array]:
        """What is lost in each car after each of several readings, (N,). [rad]."""
        rates, _ = linearized(self.tape, readings, self.fit.errors.ravel())
        ends = np.cumsum([reading.seen.size for reading in readings])
        return [self._after(rates_of_one) for rates_of_one in np.split(rates, ends[:-1])]

    def _after(self, rates: Array) -> Array:
        """What is lost after a reading that changes with the points by its rates (K, 3P)."""
        read = self.cars @ rates.T + self.noise[:, : len(rates)]
        covariance = np.linalg.inv(np.linalg.inv(self.fit.covariance) + rates.T @ rates)
        believed = read @ rates @ covariance
        open_to = np.concatenate([self.half, -self.half]) @ np.linalg.cholesky(covariance).T
        return _loss(self.peaks, self.decision.best(believed, open_to))


def _decision(tape: Evaluator, fit: FittedPoints, considered: Settings) -> _Decision:
    cars = nudged_cars(tape, fit.errors.ravel())
    change = sampled_changes(tape, cars, considered)  # (M, N, T)
    known = np.isfinite(change).all(axis=(1, 2))
    change = change[known]
    rates = (change[:, 1:] - change[:, :1]) / NUDGE
    return _Decision(change[:, 0], np.moveaxis(rates, 1, 2))


def _loss(peaks: Array, chosen: Rows) -> Array:
    """By how much each car's chosen setting exceeds its best one, (N,). [rad]."""
    lost: Array = np.take_along_axis(peaks, chosen[:, None], axis=1)[:, 0] - peaks.min(axis=1)
    return lost
