"""What is lost by choosing with the car as measured, and by choosing with the cars that it may be.

Each car is measured by tape, then swept once with two dials, which narrows its points as `gauge
--write` does.  Each time a stack is chosen by the peak of the car as it is then known, and one by
the mean of the peaks of the cars that are then possible.  Both are judged on the true car, solved
exactly, against the best stack that there is for it, and on many other cars that might as well
have been the true one, none of which they were chosen by.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

import numpy as np

from optimizer.car.adjust import points_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.settings import Settings
from optimizer.gauging.fit import corrected_car, fitted_points, left_open
from optimizer.gauging.swept import swept
from optimizer.options.space import space_of
from tests.optimizer.gauging.garage import two_dial_sweep
from tests.optimizer.gauging.garage_cars import Kind

from .true_cars import ANY_CAR, TrueCar, true_cars

SEED = 17
DRAWN = 256  # and as many mirror images
OTHERS, OTHER_SEED = 8192, 10_000


@dataclass(frozen=True)
class Lost:
    """How much more the true car peaks than with its best stack, by each choice. [deg].

    What ends in `_saved` is what choosing by the mean peak saves on average over the other cars,
    by tape alone and after the sweep.
    """

    tape_nominal: float
    tape_expected: float
    sweep_nominal: float
    sweep_expected: float
    tape_saved: float
    sweep_saved: float


def losses(kind: Kind, count: int) -> list[Lost]:
    """Losses of so many cars of a kind; fewer cars are the first of more."""
    found: list[Lost] = []
    for number, car in enumerate(true_cars(kind, ANY_CAR, [SEED])):
        lost = list(_lost(car, number))
        if lost:
            found.append(Lost(*lost))
        if len(found) == count:
            break
    return found


def _lost(car: TrueCar, seed: int) -> Iterator[float]:
    """What `Lost` holds of one car; nothing where it can't follow its wheel."""
    true, settings = car.as_built(), space_of(car.case).settings
    peaks = np.degrees(np.abs(true.toe_change(settings)).max(axis=1))
    if np.isnan(peaks).any():
        return
    stages = car.tape, _after_a_sweep(car, seed)
    chosen = [_choices(known, settings, seed) for known in stages]
    for row in chain(*chosen):
        yield float(peaks[row] - peaks.min())
    for known, rows in zip(stages, chosen, strict=True):
        yield _saved(known, settings.rows(np.array(rows)), seed)


def _choices(known: Evaluator, settings: Settings, seed: int) -> tuple[int, int]:
    """Row that is best on the car as it is known, and the one that is best over possible cars."""
    nominal = int(np.nanargmin(np.abs(known.toe_change(settings)).max(axis=1)))
    possible = ManyCars.drawn(known, seed, count=DRAWN).mirrored()
    return nominal, int(np.argmin(possible.peaks(settings)[:, possible.sound].mean(axis=1)))


def _saved(known: Evaluator, both: Settings, seed: int) -> float:
    """What the second of two settings saves on average over many cars known as well. [deg]."""
    if both.outer_drop[0] == both.outer_drop[1]:
        return 0.0
    others = ManyCars.drawn(known, OTHER_SEED + seed, count=OTHERS)
    peaks = others.peaks(both)[:, others.sound]
    return float(np.degrees(np.mean(peaks[0] - peaks[1])))


def _after_a_sweep(car: TrueCar, seed: int) -> Evaluator:
    """The car as it is known after one sweep: its most probable points, and what is left open."""
    tape = car.tape
    readings = two_dial_sweep(Evaluator.of(car.case), np.random.default_rng([SEED, seed]))
    fit = fitted_points(tape, swept(readings, tape).observations(tape))
    case = tape.case
    points = case.points.model_copy(update=points_of(case, corrected_car(tape, fit).corner))
    accuracy = case.accuracy.model_copy(update={"covariance_root": left_open(tape, fit)})
    return Evaluator.of(case.model_copy(update={"points": points, "accuracy": accuracy}))
