"""The search for a custom pivot: fits without limits, their polish under limits, and a study.

A lot can't score better than its fit without limits, so the lots are refined in that order until
none that is left could lead or be as easy to build.  Where an obstacle keeps a lot from its bound,
the polish may have ended on the wrong side of it; then a study tries the listed choices and the
whole box, and what it finds is polished too.  Nothing is proved here.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from optimizer.options.moves.lots import CarPivot, CustomCar, KnownPivots, Lot, lots_of
from optimizer.options.moves.polish import least_score, refined
from optimizer.options.moves.scores import CustomScores, Pivots, joined
from optimizer.options.moves.trials import tried_pivots
from optimizer.options.proof import RESOLUTION
from optimizer.options.study.run import Progress, StudyPlan

WORTH = float(np.radians(1e-4))  # a score that is better by less than this is not sought
POLISHED = 5  # pivots of the study that are refined for each wheel
NEAR = float(np.radians(0.01))  # toe change that a limit exceeded by 1 mm or deg weighs as a start


class CustomOutcome(Struct, frozen=True):
    """The `recommended` pivot, the `best` of each lot, and how many `trials` the study holds."""

    recommended: CarPivot
    best: list[CarPivot]
    trials: int

    @property
    def offers(self) -> list[CarPivot]:
        """The recommended pivot, then the best of all lots but its own."""
        own = [choice.tolist() for choice in self.recommended.choices]
        others = [one for one in self.best if [x.tolist() for x in one.choices] != own]
        return [self.recommended, *others]


def run_custom_study(
    car: CustomCar, plan: StudyPlan, progress: Progress | None = None
) -> CustomOutcome:
    """Search the choices and the box of a car's custom pivots under all limits.

    Parameters
    ----------
    car : CustomCar
        The wheels and their spaces.
    plan : StudyPlan
        Trials already in the storage count toward its `trials`.
    progress : callable, optional
        Called with (trials done, trials wanted) after each.

    Returns
    -------
    CustomOutcome
        The same for the same case, plan and storage.  Of pivots within gauge resolution of the best
        the one with fewest parts is recommended.
    """
    lots, known = lots_of(car), KnownPivots(car)
    for lot in lots:
        if _may_be_recommended(lot, known):
            _refine_starts(lot, known)
    open_lots = _open(lots, known)
    tried, trials = tried_pivots(car, plan, known.cars(), progress, settled=not open_lots)
    for wheel, pivots in enumerate(tried):
        known.add(wheel, _refined(car, wheel, pivots, open_lots))
    best = known.cars()
    easiest = known.easiest(best[0].peak + RESOLUTION)
    return CustomOutcome(best[0] if easiest is None else easiest, best, trials)


def _may_be_recommended(lot: Lot, known: KnownPivots) -> bool:
    """Whether a lot may hold the best pivot, or one as good that is easier to build."""
    cars = known.cars()
    if not cars or cars[0].violation > 0.0 or lot.bound < cars[0].score - WORTH:
        return True
    if lot.bound > cars[0].score + RESOLUTION:
        return False
    each = zip(known.car.wheels, lot.starts, strict=True)
    ease = known.ease(CarPivot(tuple(_fewest_parts(*wheel) for wheel in each)))[:2]
    if ease >= known.ease(cars[0])[:2]:
        return False
    easiest = known.easiest(cars[0].peak + RESOLUTION)
    return easiest is None or ease < known.ease(easiest)[:2]


def _fewest_parts(scores: CustomScores, starts: Pivots) -> Pivots:
    parts = [scores.space.parts(choice) for choice in starts.choices]
    return starts.rows(np.array([np.argmin(parts)]))


def _refine_starts(lot: Lot, known: KnownPivots) -> None:
    """Refine each wheel's starts under limits, until no other start can score better."""
    for wheel, starts in enumerate(lot.starts):
        scores, best = known.car.wheels[wheel], np.inf
        for row in range(len(starts.peak)):
            if starts.score[row] > best:
                break
            found = refined(scores, starts.choices[row], starts.moves[row])
            known.add(wheel, found)
            if found.violation[0] == 0.0:
                best = min(best, float(found.score[0]))


def _open(lots: Sequence[Lot], known: KnownPivots) -> list[Lot]:
    """Lots that a study may find something better in."""
    best = known.cars()[0]
    if best.violation > 0.0 or any(wheel.space.frees_both for wheel in known.car.wheels):
        return list(lots)
    most = best.score - WORTH
    return [lot for lot in lots if lot.bound < most and _least_score(lot, known.car) < most]


def _least_score(lot: Lot, car: CustomCar) -> float:
    """Worse wheel's least score that a lot could have if there were no obstacles. [rad]."""
    return max(
        min(least_score(scores, *start) for start in zip(starts.choices, starts.moves, strict=True))
        for scores, starts in zip(car.wheels, lot.starts, strict=True)
    )


def _refined(car: CustomCar, wheel: int, tried: Pivots, lots: Sequence[Lot]) -> Pivots:
    """Refine the most promising of what was tried in some lots, each with a choice of its own.

    Limits may cost a pivot much or next to nothing, which only the refinement tells, so promise is
    judged with what a row exceeds them by.
    """
    shared = {lot.shared for lot in lots}
    promise = tried.score + NEAR * tried.violation
    first: dict[bytes, int] = {}
    for row in np.argsort(promise, kind="stable").tolist():
        if car.shared(tried.choices[row]) in shared:
            first.setdefault(tried.choices[row].tobytes(), row)
    rows = np.array(list(first.values())[:POLISHED], dtype=np.intp)
    starts = tried.rows(rows)
    found = [
        refined(car.wheels[wheel], choice, moves, free=False)
        for choice, moves in zip(starts.choices, starts.moves, strict=True)
    ]
    return joined(found) if found else starts
