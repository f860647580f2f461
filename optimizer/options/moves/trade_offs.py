"""Trade-offs of a custom pivot: less change of the car for a little more toe.

The moves can't be listed, so a multi-objective Optuna study looks for pivots that no other beats on
peak toe change, change of hardware, clearance and change of the steering ratio.  It starts from
pivots refined with more and more weight on staying near the standard place.
"""

from dataclasses import dataclass

import numpy as np
import optuna

from geometry.vectors import Array
from optimizer.car.adjust import Settings
from optimizer.options.moves.polish import polished
from optimizer.options.moves.scores import (
    FARTHER,
    CustomScores,
    Pivots,
    joined,
)
from optimizer.options.moves.search import parameters, suggested
from optimizer.options.moves.space import CustomSpace
from optimizer.options.trade_offs import in_steps, share_changed, unbeaten

WEIGHTS = (3.0, 10.0, 30.0)  # of a millimeter moved, times that of the best pivot
GENERATION = 24
GENERATIONS = 6
CHANGE_STEP = 0.1  # mm
FASTEST = 100.0  # times the steer rate of the car as it is; a rod in line with its arm has none


@dataclass(frozen=True)
class TradeOffs:
    """Custom `pivots` that no other one found beats, best peak first, and their counts, (M,).

    `change` is how far pivots, rack and ball joint move, all added up [mm]; `clearance` is infinite
    where no obstacle is stated [mm]; `rate_change` is the steer rate over that of the car as it is,
    less 1.
    """

    pivots: Pivots
    change: Array
    clearance: Array
    rate_change: Array


@dataclass(frozen=True)
class Worth:
    """What a trade-off is measured by: the car's steer rate as it is, and the most toe to accept.

    `steer_rate` is in rad/mm, `peak` in rad.
    """

    steer_rate: float
    peak: float


def custom_trade_offs(scores: CustomScores, known: Pivots, worth: Worth, seed: int) -> TradeOffs:
    """Look for pivots that give away some toe for less change.

    Parameters
    ----------
    scores : CustomScores
        The case and its space.
    known : Pivots
        Pivots to start from, the best one first.
    worth : Worth
        What counts as a change, and what as good enough.
    seed : int
        Of the study.

    Returns
    -------
    TradeOffs
        Only pivots that fit; possibly none.
    """
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    study = optuna.create_study(
        directions=["minimize"] * 4,
        sampler=optuna.samplers.NSGAIISampler(population_size=GENERATION, seed=seed),
    )
    (choice, *_), (moves, *_) = known.choices, known.moves
    nearer = [
        (choice, polished(scores, choice, moves, farther=weight * FARTHER)) for weight in WEIGHTS
    ]
    for start in [*zip(known.choices, known.moves, strict=True), *nearer]:
        study.enqueue_trial(parameters(scores.space, *start), skip_if_exists=True)
    found = [_generation(study, scores, worth) for _ in range(GENERATIONS)]
    return _unbeaten(
        TradeOffs(
            joined([part.pivots for part in found]),
            np.concatenate([part.change for part in found]),
            np.concatenate([part.clearance for part in found]),
            np.concatenate([part.rate_change for part in found]),
        ),
        worth,
    )


def _unbeaten(tried: TradeOffs, worth: Worth) -> TradeOffs:
    """Those that fit, leave little enough toe, and that no other of them beats."""
    steps = np.column_stack(
        [
            in_steps(tried.pivots.peak, tried.clearance, tried.rate_change),
            np.round(tried.change / CHANGE_STEP),
        ]
    )
    rows = np.flatnonzero((tried.pivots.violation == 0.0) & (tried.pivots.peak <= worth.peak))
    rows = rows[np.unique(steps[rows], axis=0, return_index=True)[1]]
    rows = rows[unbeaten(steps[rows])]
    rows = rows[np.argsort(tried.pivots.peak[rows], kind="stable")]
    return TradeOffs(
        tried.pivots.rows(rows),
        tried.change[rows],
        tried.clearance[rows],
        tried.rate_change[rows],
    )


def _generation(study: optuna.Study, scores: CustomScores, worth: Worth) -> TradeOffs:
    """Score as many trials as a generation has in one batch, and tell the study."""
    trials = [study.ask() for _ in range(GENERATION)]
    asked = [suggested(trial, scores.space) for trial in trials]
    choices, moves = (np.array(part) for part in zip(*asked, strict=True))
    settings = scores.space.settings(choices, moves)
    violation, clearance = scores.violation_and_clearance(choices, moves)
    tried = TradeOffs(
        Pivots(choices, moves, scores.peak(choices, moves), violation),
        hardware_change(scores.space, settings),
        clearance,
        share_changed(
            scores.evaluator.steer_rate(settings), worth.steer_rate, scores.evaluator.case
        ),
    )
    peak, gap = np.minimum(tried.pivots.peak, np.pi), tried.clearance
    gap = np.where(np.isfinite(gap), gap, 0.0)  # not stated, or out of reach
    counts = (peak, tried.change, -gap, np.minimum(np.abs(tried.rate_change), FASTEST))
    for k, trial in enumerate(trials):
        trial.set_constraint("limits", float(tried.pivots.violation[k]))
        trial.set_constraint("toe", float(peak[k] - worth.peak))
        study.tell(trial, [float(count[k]) for count in counts])
    return tried


def hardware_change(space: CustomSpace, settings: Settings) -> Array:
    """How far pivots, stack, rack and ball joint have moved, all added up, (M,). [mm].

    On a beam axle the lateral link's brackets stand in the ball joint's place.
    """
    moves = np.zeros((len(settings), 1))
    for move in (settings.outer_move, settings.inner_move):
        moves = moves if move is None else np.hstack([moves, np.abs(move)])
    total: Array = (
        moves.sum(axis=1)
        + np.abs(settings.outer_drop)
        + np.abs(settings.rack_raise)
        + np.array([space.drop_changes[drop] for drop in settings.ball_joint_drop.tolist()])
    )
    return total
