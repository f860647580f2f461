"""Whether stated chances come true: where the truth of each car lies among what was said of it.

The program is given a car by tape; of a setting it draws cars and says how its peak and margins may
come out.  What becomes of them on the true car, solved exactly, takes a place among those that were
drawn: 0 below all of them, `DRAWN` above all.  Chances that come true make every place as frequent
as another.
"""

from dataclasses import asdict, dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.settings import Settings
from optimizer.limits.kept import margins_in_cars
from optimizer.limits.margins import margins
from optimizer.options.space import space_of
from tests.optimizer.gauging.garage_cars import Kind

from .true_cars import Population, TrueCar, true_cars

SEED = 16
DRAWN = 499
NOWHERE = -1  # of a limit that is not found on the true car
ONE_OF_EACH = {"tilt": "outer joint", "gap": "outer joint to low link", "thread": ""}


@dataclass(frozen=True)
class Places:
    """Where the truth lies among the cars drawn, from 0 to `DRAWN`.

    Of the peak with the setting that the tape likes best, of the peak of the car left alone, and of
    three margins with that setting.
    """

    best: int
    left: int
    tilt: int
    gap: int
    thread: int


def places(kind: Kind, population: Population, count: int) -> list[Places]:
    """Places of so many cars of a kind; fewer cars are the first of more."""
    found: list[Places] = []
    for number, car in enumerate(true_cars(kind, population, [SEED])):
        placed = _places(car, number)
        if placed is not None:
            found.append(placed)
        if len(found) == count:
            break
    return found


def _places(car: TrueCar, seed: int) -> Places | None:
    """Place of one car; None where its wheel, or that of the car by tape, can't follow."""
    tape, true = car.tape, car.as_built()
    peaks = np.abs(tape.toe_change(space_of(tape.case).settings)).max(axis=1)
    if np.isnan(peaks).all():
        return None
    best = space_of(tape.case).settings.rows(np.array([np.nanargmin(peaks)]))
    both = [best, Settings.single()]
    truth = [float(np.abs(true.toe_change(one)).max()) for one in both]
    drawn = ManyCars.drawn(tape, seed, count=DRAWN)
    if not (np.isfinite(truth).all() and drawn.sound.all()):
        return None
    said = [drawn.peaks(one)[0] for one in both]
    of_peaks = [_place(x, among) for x, among in zip(truth, said, strict=True)]
    return Places(*of_peaks, **_of_margins(tape, true, best, drawn))


def _of_margins(
    tape: Evaluator, true: Evaluator, setting: Settings, drawn: ManyCars
) -> dict[str, int]:
    found = margins(tape, setting, follow="smallest")
    exact = {
        (one.kind, one.name): float(one.margin[0])
        for one in margins(true, setting, follow="smallest")
    }
    placed = dict.fromkeys(ONE_OF_EACH, NOWHERE)
    for one, left in margins_in_cars(tape, setting, found, drawn):
        if one.name == (ONE_OF_EACH[one.kind] or one.name) and (one.kind, one.name) in exact:
            placed[one.kind] = _place(exact[one.kind, one.name], left[0])
    return placed


def _place(truth: float, among: Array) -> int:
    return int(np.sum(among < truth))


def columns(cars: list[Places]) -> dict[str, Array]:
    """Places by question, (N,) each, those of `NOWHERE` left out."""
    by_name = {name: np.array([asdict(one)[name] for one in cars]) for name in asdict(cars[0])}
    return {name: column[column != NOWHERE] for name, column in by_name.items()}
