"""What to read next: the reading after which the stack that is then chosen loses least.

Toe change is taken as linear in the points about the most probable ones, and the cars that are
still possible as normal.  Each reading that may be taken is foretold for many of them; what it
would make of the points chooses a stack, which is judged on the car that it came from.  So a
reading counts by the decision that it serves, not by the coordinates that it narrows: the variance
of the prediction that matters (arXiv 1311.6658), carried on to what is lost by choosing.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings
from optimizer.gauging.beside_toe import rate_of_rod, turned_out_at
from optimizer.gauging.fit import NUDGE, FittedPoints, linearized, nudged_cars
from optimizer.gauging.next_stack import sampled_changes
from optimizer.gauging.observation import Observation, camber, sideways, toe
from optimizer.models.base import FrozenModel
from optimizer.models.beside_toe import (
    CamberRead,
    CasterSweep,
    RodTurned,
    Sideways,
    Steered,
    TurnToeOut,
)
from optimizer.models.next_reading import NextReading, NextReadings, ReadingKind
from optimizer.options.proof import RESOLUTION

DRAWS = 400
PAIRS = 20  # of draws to both sides, over what a reading leaves open
TURNS, PITCH_MM = 2.0, 1.5  # a usual thread; common practice, no source
STEER_DEG = 20.0
MOST_RACK_MM = 40.0
ENOUGH = 0.97  # of the possible cars; beyond it nothing is worth a minute
LEAST_GAIN = float(np.radians(0.0005))  # of what is lost, per reading


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
        change = self.change + self._moved(believed)
        open_to = self._moved(left_open)
        expected = sum(np.abs(change + one).max(axis=2) for one in open_to)
        best: Rows = np.argmin(expected, axis=1)
        return best

    def _moved(self, errors: Array) -> Array:
        """How far errors (N, 3P) move the toe changes, (N, M, T). [rad]."""
        count, heights, size = self.rates.shape
        moved: Array = (errors @ self.rates.reshape(-1, size).T).reshape(-1, count, heights)
        return moved


def next_readings(
    tape: Evaluator,
    fit: FittedPoints,
    *,
    considered: Settings,
    chosen: Settings,
    now: Settings,
    noise: float,
    heights: Array,
    mirrored: bool,
    seed: int,
) -> NextReadings:
    """Rank the readings that may be taken next by what the stack chosen after each would lose.

    Parameters
    ----------
    tape : Evaluator
        The case as measured by tape.
    fit : FittedPoints
        What has been read so far made of its points.
    considered : Settings
        What may be fitted.
    chosen, now : Settings
        What is to be fitted next and what is fitted now, batches of one.
    noise : float
        One standard deviation of a toe reading. [rad]
    heights : (T,) float array
        Wheel travels that the gauge is read at. [mm]
    mirrored : bool
        Whether the other wheel is taken for this one's mirror image.
    seed : int
        Of the draw of possible cars.
    """
    decision = _decision(tape, fit, considered)
    rng = np.random.default_rng(seed)
    size = fit.errors.size
    cars = rng.normal(size=(DRAWS, size)) @ np.linalg.cholesky(fit.covariance).T
    peaks = decision.peaks(cars)
    # What is best in no car and not on average either will not be chosen after a reading.
    kept = np.unique([*np.argmin(peaks, axis=1), np.argmin(peaks.mean(axis=0))])
    decision, peaks = _Decision(decision.change[kept], decision.rates[kept]), peaks[:, kept]
    as_it_is = _loss(peaks, np.repeat(np.argmin(peaks.mean(axis=0)), DRAWS))
    half = rng.normal(size=(PAIRS, size))
    found = []
    for kind, one in _readings(tape, chosen, now, noise, heights, mirrored=mirrored):
        rates, _ = linearized(tape, [one], fit.errors.ravel())
        read = cars @ rates.T + rng.normal(size=(DRAWS, len(rates)))
        covariance = np.linalg.inv(np.linalg.inv(fit.covariance) + rates.T @ rates)
        believed = read @ rates @ covariance
        left_open = np.concatenate([half, -half]) @ np.linalg.cholesky(covariance).T
        found.append((kind, _loss(peaks, decision.best(believed, left_open))))
    return _ranked(tape, as_it_is, found)


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


def _readings(
    tape: Evaluator,
    chosen: Settings,
    now: Settings,
    noise: float,
    heights: Array,
    *,
    mirrored: bool,
) -> Iterator[tuple[ReadingKind, Observation]]:
    """Every reading that may be taken next, as its rows would be."""
    ride = tape.case.ride
    none = np.zeros(heights.size)
    yield "sweep", Observation.of(toe, now, none, noise, travel=heights)
    longer = TURNS * PITCH_MM
    known = abs(rate_of_rod(tape, now, longer)) * PITCH_MM * _usual(RodTurned, "turns_noise")
    turned = np.array([noise, np.hypot(noise, known)])
    yield (
        "rod_turned",
        Observation.of(toe, now, np.zeros(2), turned, longer=np.array([0.0, longer])),
    )
    moved = Observation.of(
        sideways(0.0), now, none, _usual(Sideways, "noise"), travel=heights, length=True
    )
    yield "sideways", moved
    off = np.radians(_usual(CamberRead, "noise_deg"))
    yield "camber", Observation.of(camber, now, none, off, travel=heights)
    if tape.case.steering_kind is not None:
        most = min(tape.case.steering.rack_travel or MOST_RACK_MM, MOST_RACK_MM)
        rack = most * np.array([-1.0, -0.5, 0.5, 1.0])
        off = np.radians(_usual(Steered, "noise_deg"))
        yield "steered", Observation.of(toe, now, np.zeros(4), off, rack=rack)
        if mirrored or tape.corner.on_beam:
            off = np.radians(_usual(TurnToeOut, "noise_deg"))
            yield "turn_toe_out", turned_out_at(tape, now, rack, np.zeros(4), off)
        held = np.radians([-STEER_DEG, STEER_DEG])
        off = np.radians(_usual(CasterSweep, "noise_deg"))
        yield "caster_sweep", Observation.of(camber, now, np.zeros(2), off, toe=held)
    three = np.unique([-ride.droop, 0.0, ride.bump])
    yield (
        "three_with_stack",
        Observation.of(toe, chosen, np.zeros(three.size), noise, travel=three),
    )


def _usual(table: type[FrozenModel], key: str) -> float:
    """What a key of a table is where a file leaves it out."""
    return float(table.model_fields[key].default)


def _ranked(
    tape: Evaluator, as_it_is: Array, found: list[tuple[ReadingKind, Array]]
) -> NextReadings:
    minutes, before = tape.case.minutes, float(as_it_is.mean())
    worth = {
        kind: (before - float(lost.mean())) / getattr(minutes, kind)
        for kind, lost in found
        if before - float(lost.mean()) >= LEAST_GAIN
    }
    done = float(np.mean(as_it_is <= RESOLUTION)) >= ENOUGH
    best = max(worth.items(), key=lambda one: one[1])[0] if worth and not done else None
    ranked = [
        NextReading(
            kind=kind,
            minutes=getattr(minutes, kind),
            loss_deg=float(np.degrees(lost.mean())),
            enough_of_100=_of_100(lost),
            worth_it=kind == best,
        )
        for kind, lost in sorted(found, key=lambda one: float(one[1].mean()))
    ]
    return NextReadings(
        loss_deg=float(np.degrees(before)), enough_of_100=_of_100(as_it_is), ranked=ranked
    )


def _of_100(lost: Array) -> float:
    return 100.0 * float(np.mean(lost <= RESOLUTION))
