"""The study of an option space: its trials are the options that had to be solved.

A walk over the options, lowest bound first, decides what must be solved; each option that it
solves is a trial, with the worse wheel's peak as its value and the limits as its constraint.  When
the walk ends, so does the study, and the ranking is proved.  What a storage holds is not solved
again.
"""

import hashlib
from collections.abc import Callable, Sequence
from itertools import chain, count
from typing import Any
from warnings import warn

import numpy as np
import optuna
from msgspec import Struct

from optimizer.errors import PivotwrightError, StudyNotKept
from optimizer.models.case import Case
from optimizer.options.dimensions import Option, OptionSpace
from optimizer.options.ranking import Ranking, ranking_walk
from optimizer.options.study.claims import Claims
from optimizer.options.study.parameters import Parameters
from optimizer.options.study.sampler import ByNumber, Params
from optimizer.options.study.storage import opened_storage

Progress = Callable[[int, int], None]

LIMITS = "limits"
PEAKS, ROWS = "peaks", "rows"  # what a trial remembers of each wheel


class StudyPlan(Struct, frozen=True):
    """Where a study is kept (`storage`, None for memory); `trials` and `seed` of a custom pivot."""

    trials: int = 60
    seed: int = 0
    storage: str | None = None

    def __post_init__(self) -> None:
        """Refuse a seed that no draw can begin with."""
        if self.seed < 0:
            raise PivotwrightError(f"seed must be 0 or more, got {self.seed}")


class StudyOutcome(Struct, frozen=True):
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
    run, trials, least = _Run(space, shown), list[optuna.trial.FrozenTrial](), np.inf
    with opened_storage(plan.storage) as store:
        try:
            told = _told_at_once if plan.storage is None else _studied
            trials = told(run, store, progress)
            least = _least_peak(trials)  # of what stands in the store, which may be damaged
        except Exception as fault:
            if plan.storage is None:
                raise
            run.finish()
            if run.ranking is None:  # the search itself has failed, not the store
                raise
            warn(StudyNotKept(plan.storage, fault), stacklevel=2)
    run.finish()
    assert run.ranking is not None
    return StudyOutcome(run.ranking, finished_trials(trials), least)


def _told_at_once(
    run: "_Run", store: optuna.storages.BaseStorage, progress: Progress | None
) -> list[optuna.trial.FrozenTrial]:
    """Trials of a study that nobody shares, told when the walk has come to its end."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    study = optuna.create_study(storage=store)
    for number in count(1):
        if run.option(number - 1) is None:
            break
        if progress is not None:
            progress(number, number)
    study.add_trials(map(run.trial, run.options))
    return study.get_trials(deepcopy=False)


def _studied(
    run: "_Run", store: optuna.storages.BaseStorage, progress: Progress | None
) -> list[optuna.trial.FrozenTrial]:
    """Trials of the study in a store, once the walk has come to its end."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    study = optuna.create_study(
        study_name=f"pivotwright-2-{space_digest(run.space, run.shown)}",
        storage=store,
        sampler=ByNumber(run.params, run.parameters.distributions),
        load_if_exists=True,
    )
    take_known(run.space, study)
    claims = Claims(study, store)
    while True:
        while run.wants_more(claims):
            run.record(claims, progress)
        if not claims.take_over():
            return study.get_trials(deepcopy=False)


class _Run:
    """One run over a space: the options that its walk has solved, in the order of the walk."""

    def __init__(self, space: OptionSpace, shown: int) -> None:
        self.space, self.shown = space, shown
        self.walk = ranking_walk(space, shown)
        self.solved: dict[Option, None] = {}  # each once, in its place
        self.options: list[Option] = []
        self.ranking: Ranking | None = None
        self.parameters = Parameters(space)

    def finish(self) -> None:
        """Drive the walk to its end, whoever is told."""
        while self.ranking is None:
            self._go_on()

    def option(self, number: int) -> Option | None:
        """Option of a trial; None where the walk ends before."""
        while len(self.options) <= number and self.ranking is None:
            self._go_on()
        return self.options[number] if number < len(self.options) else None

    def params(self, number: int) -> Params | None:
        """Parameters of a trial."""
        option = self.option(number)
        return None if option is None else self.parameters.of(option)

    def _go_on(self) -> None:
        try:
            for option in next(self.walk):
                if option not in self.solved:
                    self.solved[option] = None
                    self.options.append(option)
        except StopIteration as end:
            self.ranking = end.value

    def wants_more(self, claims: Claims) -> bool:
        """Whether an option of the walk is no trial yet, or waits for a worker."""
        places = [claims.count, *claims.queued]
        return any(self.option(number) is not None for number in places)

    def record(self, claims: Claims, progress: Progress | None) -> None:
        """Claim a trial, and tell what its option is worth.

        The worse wheel's peak is its value; the limits are its constraint where they were looked
        at.
        """
        trial = claims.claim()
        if self.option(trial.number) is None:
            claims.give_back(trial)
            return
        with claims.telling():
            self._tell(trial, claims)
        if progress is not None:
            progress(trial.number + 1, trial.number + 1)

    def trial(self, option: Option) -> optuna.trial.FrozenTrial:
        """A finished trial of an option."""
        value, limits, remembered = self._worth(option)
        return optuna.trial.create_trial(
            value=value,
            params=self.parameters.of(option),
            distributions=self.parameters.distributions,
            user_attrs=remembered,
            constraints=limits,
        )

    def _tell(self, trial: optuna.Trial, claims: Claims) -> None:
        value, limits, remembered = self._worth(self.parameters.suggested(trial))
        for name, violation in limits.items():
            if name not in trial.constraints:
                trial.set_constraint(name, violation)
        for name, found in remembered.items():
            trial.set_user_attr(name, found)
        claims.finish(trial, value)

    def _worth(self, option: Option) -> tuple[float, dict[str, float], dict[str, Any]]:
        """Peak [deg] of an option, its limits where they were looked at, what is remembered."""
        peak = self.space.peak(option)
        wheels = list(zip(self.space.wheels, option.rows, strict=True))
        violations = [float(wheel.violation[row]) for wheel, row in wheels]
        limits = {} if np.isnan(violations).any() else {LIMITS: max(violations)}
        remembered = {
            ROWS: option.rows,
            PEAKS: [_stored(float(wheel.peak[row])) for wheel, row in wheels],
        }
        return float(np.degrees(_stored(peak))), limits, remembered


def _stored(peak: float) -> float:
    return min(peak, np.pi)  # storages keep no infinity


def take_known(space: OptionSpace, study: optuna.Study) -> None:
    """Take over the peaks that finished trials have found."""
    for trial in study.get_trials(deepcopy=False):
        rows = trial.user_attrs.get(ROWS)
        if not trial.values or rows is None:
            continue
        for wheel, row, peak in zip(space.wheels, rows, trial.user_attrs[PEAKS], strict=True):
            wheel.peak[row] = peak if peak < np.pi else np.inf


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


def space_digest(space: OptionSpace, shown: int) -> str:
    """Name that changes with anything that the walk depends on, so no two searches are mixed."""
    cases = case_digest(*chain.from_iterable(one.cases for one in space.hardware))
    over = "" if space.over is None else f"-{space.over.criterion}-{space.over.drawn.seed}"
    return f"{cases}-{shown}{over}"


def case_digest(*cases: Case) -> str:
    """Sixteen digits that change with anything that cases say."""
    return hashlib.sha256(repr(cases).encode()).hexdigest()[:16]
