"""What is lost by deciding now, or after a reading, over the cars that are still possible.

Toe change is taken as linear in the points about the most probable ones, and the cars as normal.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars
from optimizer.car.settings import Rows, Settings
from optimizer.gauging.fit import NUDGE, FittedPoints, corrected_car, linearized, nudged_cars
from optimizer.gauging.next_stack import sampled_changes
from optimizer.gauging.observation import Observation

DRAWS = 400
PAIRS = 20  # of draws to both sides, over what a reading leaves open
FEW_ROWS = 8  # of readings that are not at the heights of the sweep
ALIKE = float(np.radians(0.001))  # settings whose peaks are nearer than this are one choice


class _Decision(Struct, frozen=True):
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


class Outcome(Struct, frozen=True):
    """What a choice does in each of N cars.

    `lost` (N,) is by how much its peak exceeds that of the best there, `peaks` (N,) what it peaks
    at with the errors of the build too. [rad]
    """

    lost: Array
    peaks: Array


class Weighed(Struct, frozen=True):
    """A decision, and the cars that are still possible to take it in.

    `settings` (M,) are what may be chosen, the first of them what is, `cars` (N, 3P) from the most
    probable one, `peaks` (N, M) of the settings in them, `built` (N, M) the same with the errors of
    the build, `noise` (N, K) of readings yet to be taken, `half` (K, 3P) of cars that those leave
    open.
    """

    tape: Evaluator
    fit: FittedPoints
    settings: Settings
    decision: _Decision
    cars: Array
    peaks: Array
    built: Array
    noise: Array
    half: Array

    @staticmethod
    def of(
        tape: Evaluator, fit: FittedPoints, considered: Settings, rows: int, seed: int
    ) -> "Weighed":
        """Draw the cars; settings that no car needs are left out, but not the first, the chosen."""
        decision, known = _decision(tape, fit, considered)
        rng = np.random.default_rng(seed)
        size, most = fit.errors.size, max(rows, FEW_ROWS)
        cars = rng.normal(size=(DRAWS, size)) @ np.linalg.cholesky(fit.covariance).T
        peaks = decision.peaks(cars)
        kept = _needed(peaks)
        few = _Decision(decision.change[kept], decision.rates[kept])
        half, noise = rng.normal(size=(PAIRS, size)), rng.normal(size=(DRAWS, most))
        errors = cars.reshape(DRAWS, -1, 3), rng.uniform(-1.0, 1.0, (DRAWS, len(BUILT)))
        built = ManyCars.of(corrected_car(tape, fit), *errors)
        settings = considered.rows(known[kept])
        built_peaks = np.minimum(built.peaks(settings).T, np.pi)
        return Weighed(tape, fit, settings, few, cars, peaks[:, kept], built_peaks, noise, half)

    @property
    def as_it_is(self) -> Outcome:
        """What comes of what is chosen now."""
        return self._judged(np.repeat(0, DRAWS))

    @property
    def best_on_average(self) -> int:
        """Row of the setting that is best on average with nothing more read."""
        return int(np.argmin(self.peaks.mean(axis=0)))

    @property
    def unread(self) -> Outcome:
        """What comes of what is best on average with nothing more read."""
        return self._judged(np.repeat(self.best_on_average, DRAWS))

    def after(self, readings: Sequence[Observation]) -> list[Outcome]:
        """What comes of choosing after each of several readings."""
        return [self._after(rates) for rates in self._rates(readings)]

    def told(self, readings: Sequence[Observation]) -> Array:
        """Variance that each takes from the toe change of what is chosen now, (K,). [rad^2]."""
        spread, of_toe = self.fit.covariance, self.decision.rates[0]
        found = []
        for rates in self._rates(readings):
            shared = of_toe @ spread @ rates.T
            seen = rates @ spread @ rates.T + np.eye(len(rates))
            found.append(float((shared * np.linalg.solve(seen, shared.T).T).sum(axis=1).max()))
        return np.array(found)

    def _rates(self, readings: Sequence[Observation]) -> list[Array]:
        rates, _ = linearized(self.tape, readings, self.fit.errors.ravel())
        ends = np.cumsum([reading.seen.size for reading in readings])
        return np.split(rates, ends[:-1])

    def _after(self, rates: Array) -> Outcome:
        """What comes of a reading that changes with the points by its rates (K, 3P)."""
        read = self.cars @ rates.T + self.noise[:, : len(rates)]
        covariance = np.linalg.inv(np.linalg.inv(self.fit.covariance) + rates.T @ rates)
        believed = read @ rates @ covariance
        open_to = np.concatenate([self.half, -self.half]) @ np.linalg.cholesky(covariance).T
        return self._judged(self.decision.best(believed, open_to))

    def _judged(self, chosen: Rows) -> Outcome:
        """What the setting that is chosen for each car (N,) does there."""
        own, built = (
            np.take_along_axis(one, chosen[:, None], axis=1)[:, 0]
            for one in (self.peaks, self.built)
        )
        return Outcome(own - self.peaks.min(axis=1), built)


def _decision(tape: Evaluator, fit: FittedPoints, considered: Settings) -> tuple[_Decision, Rows]:
    """The decision between those settings that can be followed, and their rows."""
    cars = nudged_cars(tape, fit.errors.ravel())
    change = sampled_changes(tape, cars, considered)  # (M, N, T)
    known = np.flatnonzero(np.isfinite(change).all(axis=(1, 2)))
    change = change[known]
    rates = (change[:, 1:] - change[:, :1]) / NUDGE
    return _Decision(change[:, 0], np.moveaxis(rates, 1, 2)), known


def _needed(peaks: Array) -> Rows:
    """The first setting, the one that is best on average, and as few others as may be.

    Among them every car finds its best, or as good.
    """
    good = peaks <= peaks.min(axis=1, keepdims=True) + ALIKE
    kept = [0, int(np.argmin(peaks.mean(axis=0)))]
    while (left := ~good[:, kept].any(axis=1)).any():
        kept.append(int(np.argmax(good[left].sum(axis=0))))
    return np.unique(kept)
