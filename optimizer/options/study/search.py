"""The Optuna study: explores the settings, keeps a record that can be resumed, proves nothing."""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import optuna

from geometry.pivot_fit import fitted_outer
from optimizer.car.adjust import Rows, Settings
from optimizer.models.case import Case
from optimizer.options.candidates import Candidates
from optimizer.options.space import Space
from optimizer.options.study.storage import study_storage

NEIGHBORS = 32

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class StudyPlan:
    """How to run the study: `trials` in all, a `seed`, and a `storage` (None for memory)."""

    trials: int = 60
    seed: int = 0
    storage: str | None = None


@dataclass(frozen=True)
class StudyOutcome:
    """Best row that fits, or None; and how many trials the study holds."""

    best: int | None
    trials: int


def run_study(
    candidates: Candidates, plan: StudyPlan, progress: Progress | None = None
) -> StudyOutcome:
    """Search the space by constrained TPE, warm-started by the toe-held pivot fit.

    Parameters
    ----------
    candidates : Candidates
        A space and what is known about it; what the trials find out is added.
    plan : StudyPlan
        Trials already in the storage count toward `trials`.
    progress : callable, optional
        Called with (trials done, trials wanted) after each.

    Returns
    -------
    StudyOutcome
        The same for the same case, plan and storage.
    """
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    space = candidates.space
    study = optuna.create_study(
        study_name=_study_name(candidates),
        storage=study_storage(plan.storage),
        sampler=optuna.samplers.TPESampler(seed=plan.seed),
        load_if_exists=True,
    )
    wanted = min(plan.trials, len(space.settings))
    done = finished_trials(study)
    if not study.trials:
        for places in _warm_starts(candidates):
            study.enqueue_trial(places, skip_if_exists=True)

    def objective(trial: optuna.Trial) -> float:
        row = np.array([_row_of(trial, space)])
        candidates.find_peaks(row)
        candidates.find_limits(_neighbors(int(row[0]), len(space.settings)))
        trial.set_constraint("limits", float(candidates.violation[row[0]]))
        trial.set_user_attr("row", int(row[0]))
        return float(np.degrees(candidates.peak[row[0]]))

    def report(_: optuna.Study, trial: optuna.trial.FrozenTrial) -> None:
        if progress is not None:
            progress(trial.number + 1, wanted)

    if done < wanted:
        study.optimize(objective, n_trials=wanted - done, callbacks=[report])
    return StudyOutcome(_best_row(study.trials), finished_trials(study))


def finished_trials(study: optuna.Study) -> int:
    """Count the trials that were run; those that only wait in the queue don't count."""
    return sum(trial.state.is_finished() for trial in study.trials)


def _neighbors(row: int, rows: int) -> Rows:
    """Rows around one: the limits of `NEIGHBORS` of them cost little more than those of one."""
    start = row - row % NEIGHBORS
    return np.arange(start, min(start + NEIGHBORS, rows))


def _row_of(trial: optuna.Trial, space: Space) -> int:
    return space.row(
        trial.suggest_int("stack", 0, len(space.stacks) - 1),
        trial.suggest_int("rack", 0, len(space.raises) - 1),
        trial.suggest_int("ball_joint", 0, len(space.drops) - 1),
    )


def _best_row(trials: Iterable[optuna.trial.FrozenTrial]) -> int | None:
    finished = [
        (trial.values[0], trial.user_attrs["row"])
        for trial in trials
        if trial.values and max(trial.constraints.values()) <= 0.0
    ]
    return min(finished)[1] if finished else None


def _warm_starts(candidates: Candidates) -> list[dict[str, int]]:
    """Leave it as it is; and for each rack raise and drop, the stack that the pivot fit names."""
    space, evaluator = candidates.space, candidates.evaluator
    corner = evaluator.corner
    heights = np.array([stack.height for stack in space.stacks])
    starts = []
    if space.left < len(heights) * len(space.raises) * len(space.drops):
        starts.append(space.places(space.left))
    for k, drop in enumerate(space.drops):
        for j, rack_raise in enumerate(space.raises):
            (seat,), (inner,) = corner.pivots(Settings.single(0.0, rack_raise, drop))
            fit = fitted_outer(evaluator.poses(drop), seat, inner, corner.stud_axis[None, :])
            starts.append((int(np.argmin(np.abs(heights - fit.moves[0]))), j, k))
    return [dict(zip(("stack", "rack", "ball_joint"), start, strict=True)) for start in starts]


def _study_name(candidates: Candidates) -> str:
    """Name that changes with anything in the case, so a file never mixes two searches."""
    shared = candidates.space.shared
    settled = "" if shared is None else f"-{shared.rack_raise!r}-{shared.ball_joint_drop!r}"
    return f"pivotwright-{case_digest(candidates.evaluator.case)}{settled}"


def case_digest(*cases: Case) -> str:
    """Sixteen digits that change with anything that cases say."""
    return hashlib.sha256(repr(cases).encode()).hexdigest()[:16]
