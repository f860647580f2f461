"""The search for a custom pivot: closed-form fits, an Optuna study about them, and the polish.

The fit knows no limit and the polish sees only what is near, so the study looks farther: over every
listed choice and the whole box.  Nothing is proved here; the moves are not finite in number.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import optuna

from geometry.pivot_fit import fitted_inner, fitted_outer
from geometry.vectors import Array
from optimizer.search.certificate import RESOLUTION
from optimizer.search.custom_scores import CustomScores, Pivots, joined, score, scored
from optimizer.search.custom_space import Choice, CustomSpace
from optimizer.search.polish import polished
from optimizer.search.storage import study_storage
from optimizer.search.study import Progress, StudyPlan, case_digest

PULL = float(np.radians(1e-3))  # of the fit to the standard place, per millimeter and height
MOST_FITS = 128
ROUNDS = 3  # of fitting the outer and the inner pivot in turn, where both may move
POLISHED = 5  # choices of which the best pivot is refined
NEAR = float(np.radians(0.01))  # toe change that a limit exceeded by 1 mm or deg weighs as a start
WARM_STARTS = 6  # of the study, each with its own choice
CHOICES = ("stack", "rack", "ball joint")
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
    done = sum(trial.state.is_finished() for trial in study.trials)

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
    return CustomOutcome(found.rows(found.order()), len(study.trials), scores.scored)


def simplest(scores: CustomScores, pivots: Pivots) -> int:
    """Row to recommend: of those within gauge resolution of the best, the one with fewest parts."""
    best = pivots.rows(np.arange(1))
    near = np.flatnonzero(
        (pivots.violation <= best.violation[0]) & (pivots.peak <= best.peak[0] + RESOLUTION)
    )
    return int(min(near, key=lambda row: (scores.space.parts(pivots.choices[row]), row)))


def fitted_moves(scores: CustomScores) -> tuple[Choice, Array]:
    """Least-squares pivot of the toe-held motion, within the box, for each listed choice."""
    choices = scores.space.spread_choices(MOST_FITS)
    return choices, np.array([_fitted(scores, choice) for choice in choices])


def _fitted(scores: CustomScores, choice: Choice) -> Array:
    """Fit the outer pivot, or both in turn, to one choice, (6,). [mm]."""
    space, corner = scores.space, scores.evaluator.corner
    settings = space.settings(choice[None], np.zeros((1, 6)))
    poses = scores.evaluator.poses(float(settings.ball_joint_drop[0]))
    seats = np.concatenate(corner.pivots(settings), axis=1)[0]
    room, axes = np.stack([space.low, space.high], axis=-1), np.tile(np.eye(3), (2, 1))
    outer, inner = space.free[space.free < 3], space.free[space.free >= 3]
    moves = np.clip(np.zeros(6), space.low, space.high)
    for _ in range(ROUNDS if outer.size and inner.size else 1):
        for free, fitted in ((outer, fitted_outer), (inner, fitted_inner)):
            if free.size:
                moves[free] = 0.0
                pair = (seats + moves)[:3], (seats + moves)[3:]
                moves[free] = fitted(poses, *pair, axes[free], pull=PULL, room=room[free]).moves
    return moves


def _study(scores: CustomScores, plan: StudyPlan, fits: Pivots) -> optuna.Study:
    """Open the study; a new one starts with the best fits."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    study = optuna.create_study(
        study_name=f"pivotwright-custom-{case_digest(scores.evaluator.case)}",
        storage=study_storage(plan.storage),
        sampler=optuna.samplers.TPESampler(seed=plan.seed),
        load_if_exists=True,
    )
    if not study.trials:
        for row in fits.order()[:WARM_STARTS]:
            study.enqueue_trial(parameters(scores.space, fits.choices[row], fits.moves[row]))
    return study


def parameters(space: CustomSpace, choice: Choice, moves: Array) -> dict[str, float]:
    """A choice (3,) and moves (6,) [mm] as what a trial would suggest."""
    chosen = dict(zip(CHOICES, choice.tolist(), strict=True))
    return chosen | {MOVES[k]: float(moves[k]) for k in space.free}


def suggested(trial: optuna.Trial, space: CustomSpace) -> tuple[Choice, Array]:
    """Choice (3,) and moves (6,) [mm] that a trial is to score."""
    choice = [
        trial.suggest_int(name, 0, size - 1)
        for name, size in zip(CHOICES, space.sizes, strict=True)
    ]
    moves = space.low.copy()
    for k in space.free.tolist():
        moves[k] = trial.suggest_float(MOVES[k], space.low[k], space.high[k])
    return np.array(choice), moves


def _tried(study: optuna.Study) -> list[Pivots]:
    """What the study has scored, also in an earlier run."""
    found = [trial.user_attrs for trial in study.trials if trial.values]
    return [Pivots(*(np.array([known[key]]) for key in PIVOT)) for known in found]


def _starts(scores: CustomScores, known: Pivots) -> list[int]:
    """Rows to refine, one a choice: the most promising, and what asks for no part but the pivot."""
    promise = score(known.peak, known.moves) + NEAR * known.violation
    rows = _distinct(known, np.argsort(promise, kind="stable"))
    bare = [row for row in rows if scores.space.parts(known.choices[row]) == 0]
    return list(dict.fromkeys([*bare[:1], *rows[:POLISHED]]))


def _distinct(pivots: Pivots, rows: Iterable[int]) -> list[int]:
    """First row of each choice."""
    first: dict[tuple[int, ...], int] = {}
    for row in rows:
        first.setdefault(tuple(pivots.choices[row]), int(row))
    return list(first.values())
