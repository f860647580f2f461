"""The study of an option space: its trials are the options that had to be solved.

A walk over the options, lowest bound first, decides what must be solved; each option that it
solves is a trial, with the worse wheel's peak as its value and the limits as its constraint.  When
the walk ends, so does the study, and the ranking is proved.  What a storage holds is not solved
again.
"""

import hashlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from warnings import warn

import numpy as np
import optuna

from optimizer.errors import StudyNotKept
from optimizer.models.case import Case
from optimizer.options.dimensions import Option, OptionSpace
from optimizer.options.proof import finished
from optimizer.options.ranking import Options, Ranking, ranking_walk
from optimizer.options.study.parameters import Parameters
from optimizer.options.study.sampler import InOrder, Params
from optimizer.options.study.storage import study_storage

Progress = Callable[[int, int], None]

LIMITS = "limits"
PEAKS, ROWS = "peaks", "rows"  # what a trial remembers of each wheel


@dataclass(frozen=True)
class StudyPlan:
    """Where a study is kept (`storage`, None for memory); `trials` and `seed` of a custom pivot."""

    trials: int = 60
    seed: int = 0
    storage: str | None = None


@dataclass(frozen=True)
class StudyOutcome:
    """The ranking; how many trials the study holds; the least peak of one that fits. [rad]."""

    ranking: Ranking
    trials: int
    best_peak: float


def run_study(
    space: OptionSpace, plan: StudyPlan, shown: int, progress: Progress | None = None
) -> StudyOutcome:
    """Rank an option space, trial by trial.

    Parameters
    ----------
    space : OptionSpace
        What the trials find out is kept there.
    plan : StudyPlan
        Names the storage; what finished trials in it have found is taken over.
    shown : int
        As for `ranking_walk`.
    progress : callable, optional
        Called with (trials done, trials done) after each.

    Returns
    -------
    StudyOutcome
        The same for the same case, whatever the storage holds.

    Warns
    -----
    StudyNotKept
        The storage failed on the way: the answer stands without it.
    """
    run = _Run(space, ranking_walk(space, shown))
    store = study_storage(plan.storage)
    try:
        trials = _studied(run, store, progress)
    except Exception as fault:
        if plan.storage is None:
            raise
        run.finish()
        if run.ranking is None:  # the search itself has failed, not the store
            raise
        warn(StudyNotKept(plan.storage, fault), stacklevel=2)
        trials = []
    assert run.ranking is not None
    return StudyOutcome(run.ranking, finished_trials(trials), _least_peak(trials))


def _studied(
    run: "_Run", store: optuna.storages.BaseStorage, progress: Progress | None
) -> list[optuna.trial.FrozenTrial]:
    """Trials of the study in a store, once the walk has come to its end."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    study = optuna.create_study(
        study_name=f"pivotwright-{space_digest(run.space)}",
        storage=store,
        sampler=optuna.samplers.RandomSampler(),
        load_if_exists=True,
    )
    run.told |= known_options(run.space, study)
    sampler = InOrder(run.proposals(), run.parameters.distributions)
    study.sampler = sampler

    def report(_: optuna.Study, trial: optuna.trial.FrozenTrial) -> None:
        if progress is not None:
            progress(trial.number + 1, trial.number + 1)

    if not sampler.exhausted:
        study.optimize(run.objective, callbacks=[report])
    return study.get_trials(deepcopy=False)


class _Run:
    """One run over a space; `told` are the options that are trials already."""

    def __init__(self, space: OptionSpace, walk: Options[Ranking]) -> None:
        self.space, self.walk = space, walk
        self.told: set[Option] = set()
        self.ranking: Ranking | None = None
        self.parameters = Parameters(space)

    def finish(self) -> None:
        """Drive the walk to its end, whoever is told."""
        if self.ranking is None:
            self.ranking = finished(self.walk)

    def proposals(self) -> Iterator[Params]:
        """Drive the walk, and propose each option that it solves once."""
        while self.ranking is None:
            try:
                solved = next(self.walk)
            except StopIteration as end:
                self.ranking = end.value
                return
            for option in solved:
                if option not in self.told:
                    self.told.add(option)
                    yield self.parameters.of(option)

    def objective(self, trial: optuna.Trial) -> float:
        """Worse wheel's peak; the limits are the trial's constraint where they were looked at."""
        option = self.parameters.suggested(trial)
        peak = self.space.peak(option)
        wheels = list(zip(self.space.wheels, option.rows, strict=True))
        violations = [float(wheel.violation[row]) for wheel, row in wheels]
        if not np.isnan(violations).any():
            trial.set_constraint(LIMITS, max(violations))
        trial.set_user_attr(ROWS, option.rows)
        trial.set_user_attr(PEAKS, [_stored(float(wheel.peak[row])) for wheel, row in wheels])
        return float(np.degrees(_stored(peak)))


def _stored(peak: float) -> float:
    return min(peak, np.pi)  # storages keep no infinity


def known_options(space: OptionSpace, study: optuna.Study) -> set[Option]:
    """Take over the peaks that finished trials have found, and name their options."""
    known: set[Option] = set()
    for trial in study.get_trials(deepcopy=False):
        rows = trial.user_attrs.get(ROWS)
        if not trial.values or rows is None:
            continue
        known.add(Option(tuple(rows)))
        for wheel, row, peak in zip(space.wheels, rows, trial.user_attrs[PEAKS], strict=True):
            wheel.peak[row] = peak if peak < np.pi else np.inf
    return known


def finished_trials(trials: Sequence[optuna.trial.FrozenTrial]) -> int:
    """Count the trials that were run; those that only wait in the queue don't count."""
    return sum(trial.state.is_finished() for trial in trials)


def _least_peak(trials: Sequence[optuna.trial.FrozenTrial]) -> float:
    """Least peak of a trial that keeps every limit; infinite if none does. [rad]."""
    fitting = (
        max(trial.user_attrs[PEAKS])
        for trial in trials
        if trial.values and trial.constraints and max(trial.constraints.values()) <= 0.0
    )
    return min(fitting, default=np.inf)


def space_digest(space: OptionSpace) -> str:
    """Name that changes with anything in the cases, so a file never mixes two searches."""
    return case_digest(*chain.from_iterable(one.cases for one in space.hardware))


def case_digest(*cases: Case) -> str:
    """Sixteen digits that change with anything that cases say."""
    return hashlib.sha256(repr(cases).encode()).hexdigest()[:16]
