"""The search for a custom pivot: closed-form fits, an Optuna study about them, and the polish.

The fit knows no limit and the polish sees only what is near, so the study looks farther: over every
listed choice and the whole box.  Nothing is proved here; the moves are not finite in number.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import optuna
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import Rows
from optimizer.options.moves.fits import fitted_moves
from optimizer.options.moves.polish import polished
from optimizer.options.moves.scores import CustomScores, Pivots, joined, score, scored
from optimizer.options.moves.space import Choice, CustomSpace
from optimizer.options.proof import RESOLUTION
from optimizer.options.study.search import Progress, StudyPlan, case_digest, finished_trials
from optimizer.options.study.storage import study_storage

POLISHED = 5  # settings of which the best pivot is refined
NEAR = float(np.radians(0.01))  # toe change that a limit exceeded by 1 mm or deg weighs as a start
WARM_STARTS = 6  # of the study, each with a setting of its own
CHOICES = ("kit", "stack", "rack", "ball joint")
PIVOT = ("choice", "moves", "peak", "violation")  # what a trial remembers
MOVES = ("outer x", "outer y", "outer z", "inner x", "inner y", "inner z")


@dataclass(frozen=True)
class CustomOutcome:
    """Polished `pivots`, best first; how many `trials` the study holds, and pivots it `scored`."""

    pivots: Pivots
    trials: int
    scored: int


def run_custom_study(
    scores: CustomScores, plan: StudyPlan, progress: Progress | None = None
) -> CustomOutcome:
    """Search the choices and the box of a custom pivot under all limits.

    Parameters
    ----------
    scores : CustomScores
        The case and its space.
    plan : StudyPlan
        Trials already in the storage count toward its `trials`.
    progress : callable, optional
        Called with (trials done, trials wanted) after each.

    Returns
    -------
    CustomOutcome
        The same for the same case, plan and storage.
    """
    fits = scored(scores, *fitted_moves(scores))
    study = _study(scores, plan, fits)
    done = finished_trials(study)

    def objective(trial: optuna.Trial) -> float:
        choice, moves = suggested(trial, scores.space)
        found = scored(scores, choice[None], moves[None])
        violation = float(found.violation[0])
        trial.set_constraint("limits", violation)
        peak = min(float(found.peak[0]), np.pi)  # storages keep no infinity
        for key, value in zip(
            PIVOT, (choice.tolist(), moves.tolist(), peak, violation), strict=True
        ):
            trial.set_user_attr(key, value)
        return float(np.degrees(score(np.array(peak), moves)))

    def report(_: optuna.Study, trial: optuna.trial.FrozenTrial) -> None:
        if progress is not None:
            progress(trial.number + 1, plan.trials)

    if done < plan.trials:
        study.optimize(objective, n_trials=plan.trials - done, callbacks=[report])
    known = joined([fits, *_tried(study)])
    starts = known.rows(np.array(_starts(scores, known)))
    refined = [
        polished(scores, choice, moves)
        for choice, moves in zip(starts.choices, starts.moves, strict=True)
    ]
    found = joined(
        [scored(scores, starts.choices, np.array(refined)), known.rows(known.order()[:1])]
    )
    return CustomOutcome(found.rows(found.order()), finished_trials(study), scores.scored)


def simplest(scores: CustomScores, pivots: Pivots) -> int:
    """Row to recommend: of those within gauge resolution of the best, the one with fewest parts.

    Of equal ones it is the one with the first kit.
    """
    best = pivots.rows(np.arange(1))
    near = np.flatnonzero(
        (pivots.violation <= best.violation[0]) & (pivots.peak <= best.peak[0] + RESOLUTION)
    )
    choices = pivots.choices
    return int(min(near, key=lambda row: (scores.space.parts(choices[row]), choices[row, 0], row)))


def _study(scores: CustomScores, plan: StudyPlan, fits: Pivots) -> optuna.Study:
    """Open the study; a new one starts with the best fits."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    study = optuna.create_study(
        study_name=f"pivotwright-custom-{case_digest(*(kit.case for kit in scores.evaluators))}",
        storage=study_storage(plan.storage),
        sampler=optuna.samplers.TPESampler(seed=plan.seed),
        load_if_exists=True,
    )
    if not study.trials:
        for row in _own_settings(scores, fits, fits.order())[:WARM_STARTS]:
            study.enqueue_trial(parameters(scores.space, fits.choices[row], fits.moves[row]))
    return study


def parameters(space: CustomSpace, choice: Choice, moves: Array) -> dict[str, float]:
    """A choice (4,) and moves (6,) [mm] as what a trial would suggest."""
    chosen = dict(zip(CHOICES, choice.tolist(), strict=True))
    return chosen | {MOVES[k]: float(moves[k]) for k in space.free}


def suggested(trial: optuna.Trial, space: CustomSpace) -> tuple[Choice, Array]:
    """Choice (4,) and moves (6,) [mm] that a trial is to score."""
    kit, *others = zip(CHOICES, space.sizes, strict=True)
    choice = [trial.suggest_categorical(kit[0], range(kit[1]))]
    choice += [trial.suggest_int(name, 0, size - 1) for name, size in others]
    moves = space.low.copy()
    for k in space.free.tolist():
        moves[k] = trial.suggest_float(MOVES[k], space.low[k], space.high[k])
    return np.array(choice), moves


def _tried(study: optuna.Study) -> list[Pivots]:
    """What the study has scored, also in an earlier run."""
    found = [trial.user_attrs for trial in study.trials if trial.values]
    return [Pivots(*(np.array([known[key]]) for key in PIVOT)) for known in found]


def _starts(scores: CustomScores, known: Pivots) -> list[int]:
    """Rows to refine: the most promising of each setting and of each kit, one without parts too.

    Limits may cost a pivot much or next to nothing, which only the refinement tells; so promise is
    judged both with the limits that a row exceeds and without.
    """
    reached = score(known.peak, known.moves)
    with_limits = np.argsort(reached + NEAR * known.violation, kind="stable")
    starts: list[int] = []
    for order in (with_limits, np.lexsort([known.violation, reached])):
        rows = _own_settings(scores, known, order)
        bare = [row for row in rows if scores.space.parts(known.choices[row]) == 0]
        starts += [*bare[:1], *rows[:POLISHED], *_firsts(known.choices[:, 0], order)]
    return list(dict.fromkeys(starts))


def _own_settings(scores: CustomScores, pivots: Pivots, rows: Rows) -> list[int]:
    """First row of each stack height, rack raise and ball-joint drop, with whichever kit."""
    heights = [scores.space.stack(choice).height for choice in pivots.choices]
    return _firsts(np.column_stack([heights, pivots.choices[:, 2:]]), rows)


def _firsts(keys: NDArray[Any], rows: Rows) -> list[int]:
    """First row of each key."""
    first: dict[bytes, int] = {}
    for row in rows:
        first.setdefault(keys[row].tobytes(), int(row))
    return list(first.values())
