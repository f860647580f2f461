"""Custom pivots of a car as the trials of an Optuna study, which looks where no fit leads.

The hardware is a category, stack, rack and linkage are whole numbers, the moves are floats; what
both wheels share has one name.  Trials are asked for by the dozen, for the limits of many pivots
cost little more than those of one, and their limits are not followed between places: what is found
here is only where to refine.
"""

from collections.abc import Sequence
from typing import Any
from warnings import warn

import numpy as np
import optuna
from optuna.distributions import (
    BaseDistribution,
    CategoricalDistribution,
    FloatDistribution,
    IntDistribution,
)
from optuna.trial import FrozenTrial

from geometry.vectors import Array
from optimizer.errors import StudyNotKept
from optimizer.options.moves.lots import CarPivot, CustomCar
from optimizer.options.moves.scores import Pivots, joined, scored
from optimizer.options.moves.space import Choice
from optimizer.options.study.claims import Claims
from optimizer.options.study.parameters import suggested
from optimizer.options.study.run import Progress, StudyPlan, case_digest, finished_trials
from optimizer.options.study.sampler import KnownFirst, Params
from optimizer.options.study.storage import opened_storage

AT_A_TIME = 12
MOVES = ("outer x", "outer y", "outer z", "inner x", "inner y", "inner z")
LIMITS = "limits"
FOUND = ("choices", "moves", "peaks", "violations")  # what a trial remembers, a list of the wheels
DECIMALS = 12  # of a value in deg, that no rounding sways the sampler


def tried_pivots(
    car: CustomCar,
    plan: StudyPlan,
    known: Sequence[CarPivot],
    progress: Progress | None = None,
    *,
    settled: bool,
) -> tuple[list[Pivots], int]:
    """Pivots that a study has tried, by wheel, and how many trials it holds.

    Parameters
    ----------
    car : CustomCar
        The wheels and their spaces.
    plan : StudyPlan
        Trials already in the storage count toward its `trials`.
    known : sequence of CarPivot
        Pivots that are a new study's first trials, best first.
    progress : callable, optional
        Called with (trials done, trials wanted) after each.
    settled : bool
        Whether nothing that is left can score better, so that no more trials are wanted.

    Warns
    -----
    StudyNotKept
        The storage failed on the way: the trials were made without it.
    """
    study = _Study(car, plan, progress)
    with opened_storage(plan.storage) as store, opened_storage(None) as memory:
        try:
            return study.run(store, known, settled=settled)
        except Exception as fault:
            if plan.storage is None:
                raise
            warn(StudyNotKept(plan.storage, fault), stacklevel=2)
            return study.run(memory, known, settled=settled)


class _Study:
    """The trials of a car; names and ranges of its choices and moves."""

    def __init__(self, car: CustomCar, plan: StudyPlan, progress: Progress | None) -> None:
        self.car, self.plan, self.progress = car, plan, progress
        self.names: list[list[str]] = []
        self.ranges: dict[str, BaseDistribution] = {}
        for wheel in car.wheels:
            own = f" {wheel.evaluator.case.side}" if len(car.wheels) > 1 else ""
            shared = "" if car.shares else own
            hardware, *sizes = wheel.space.sizes
            ranges: dict[str, BaseDistribution] = {
                "hardware": CategoricalDistribution(range(hardware))
            }
            names = (f"stack{own}", f"rack{shared}", f"linkage{shared}")
            ranges |= {
                name: IntDistribution(0, size - 1) for name, size in zip(names, sizes, strict=True)
            }
            room = zip(MOVES, wheel.space.low.tolist(), wheel.space.high.tolist(), strict=True)
            ranges |= {f"{name}{own}": FloatDistribution(low, high) for name, low, high in room}
            self.names.append(list(ranges))
            self.ranges |= ranges

    def run(
        self, store: optuna.storages.BaseStorage, known: Sequence[CarPivot], *, settled: bool
    ) -> tuple[list[Pivots], int]:
        """Try pivots until there are as many trials as wanted, or nothing is left to gain."""
        optuna.logging.set_verbosity(optuna.logging.ERROR)
        cases = [one.case for wheel in self.car.wheels for one in wheel.evaluators]
        first = [self._params(pivot) for pivot in known[: max(1, self.plan.trials)]]
        study = optuna.create_study(
            study_name=f"pivotwright-custom-{case_digest(*cases)}",
            storage=store,
            sampler=KnownFirst(first, self.ranges, self.plan.seed),
            load_if_exists=True,
        )
        claims, wanted = Claims(study, store), len(first) if settled else self.plan.trials
        while True:
            while left := claims.left(wanted):
                self._try(claims, min(left, AT_A_TIME), wanted)
            if not claims.take_over():
                break
        trials = study.get_trials(deepcopy=False)
        return self._pivots(trials), finished_trials(trials)

    def _try(self, claims: Claims, count: int, wanted: int) -> None:
        trials = []
        for trial in [claims.claim() for _ in range(count)]:
            if trial.number >= wanted:
                claims.give_back(trial)
                continue
            with claims.telling():
                for name, one in self.ranges.items():
                    suggested(trial, name, one)
                trials.append(trial)
        if not trials:
            return
        found = [
            scored(wheel, *self._asked(names, trials), follow=None)
            for wheel, names in zip(self.car.wheels, self.names, strict=True)
        ]
        for row, trial in enumerate(trials):
            pivot = CarPivot(tuple(one.rows(np.array([row])) for one in found))
            with claims.telling():
                if LIMITS not in trial.constraints:  # of a worker that died over it
                    trial.set_constraint(LIMITS, pivot.violation)
                for key, value in _remembered(pivot).items():
                    trial.set_user_attr(key, value)
                claims.finish(trial, _value(pivot))
            if self.progress is not None:
                self.progress(finished_trials(claims.study.get_trials(deepcopy=False)), wanted)

    def _asked(self, names: list[str], trials: Sequence[optuna.Trial]) -> tuple[Choice, Array]:
        """Choices (M, 4) and moves (M, 6) that trials ask for at a wheel. [mm]."""
        asked = [[trial.params[name] for name in names] for trial in trials]
        return np.array([row[:4] for row in asked]), np.array([row[4:] for row in asked])

    def _params(self, pivot: CarPivot) -> Params:
        params: Params = {}
        for names, one in zip(self.names, pivot.wheels, strict=True):
            chosen = [*one.choices[0].tolist(), *one.moves[0].tolist()]
            params |= dict(zip(names, chosen, strict=True))
        return params

    def _pivots(self, trials: Sequence[FrozenTrial]) -> list[Pivots]:
        """What finished trials have found at each wheel, in an earlier run too."""
        found = [trial.user_attrs for trial in trials if trial.values]
        return [
            joined([Pivots(*(np.array([one[key][k]]) for key in FOUND)) for one in found])
            for k in range(len(self.car.wheels))
        ]


def _value(pivot: CarPivot) -> float:
    """Score that storages can keep. [deg]."""
    return round(float(np.degrees(min(pivot.score, np.pi))), DECIMALS)


def _remembered(pivot: CarPivot) -> dict[str, Any]:
    """What a trial remembers of its pivot; storages keep no infinity."""
    return {
        "choices": [one.choices[0].tolist() for one in pivot.wheels],
        "moves": [one.moves[0].tolist() for one in pivot.wheels],
        "peaks": [min(float(one.peak[0]), np.pi) for one in pivot.wheels],
        "violations": [float(one.violation[0]) for one in pivot.wheels],
    }
