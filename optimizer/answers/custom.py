"""A custom pivot: where it must sit, how exactly it must be made, and what it costs."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from geometry.steering import turn_toe_out
from geometry.vectors import Array
from optimizer.answers.uncertainty import uncertainty
from optimizer.car.adjust import Settings, fitted_to_linkage, mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import Wheel
from optimizer.errors import Fault, PivotwrightError
from optimizer.limits.described import described_settings
from optimizer.limits.margins import Margin
from optimizer.models.case import Case
from optimizer.models.custom_pivot import (
    Coordinate,
    CustomPivot,
    SteeringCost,
    TradeOff,
    TurnToeOut,
)
from optimizer.models.kits import Kit
from optimizer.options.hardware import case_with_kit
from optimizer.options.moves.scores import CustomScores, Pivots, joined, scored
from optimizer.options.moves.search import CustomOutcome, run_custom_study, simplest
from optimizer.options.moves.space import Choice, CustomSpace
from optimizer.options.moves.tolerance import limits_broken_within, pivot_tolerances
from optimizer.options.moves.trade_offs import Worth, custom_trade_offs, hardware_change
from optimizer.options.study.search import Progress, StudyPlan
from optimizer.units import MM_PER_INCH, Units, length_text

MADE_IN_STEPS: dict[Units, float] = {"mm": 0.01, "in": 0.0005 * MM_PER_INCH}
SMALLEST_MOVE = 0.1  # mm; less than this is not worth a drawing
AT_A_LIMIT = 0.1  # mm or deg; less than this is left where a limit decides
COORDINATES: tuple[tuple[Literal["outer", "inner"], Literal["x", "y", "z"]], ...] = (
    ("outer", "x"),
    ("outer", "y"),
    ("outer", "z"),
    ("inner", "x"),
    ("inner", "y"),
    ("inner", "z"),
)


def missing_room(case: Case) -> Fault:
    """Say what a case must state before a custom pivot can be sought."""
    example = (
        "outer = { x = [-10.0, 10.0], y = [-15.0, 15.0], z = [-30.0, 5.0] }"
        if case.units == "mm"
        else "outer = { x = [-0.4, 0.4], y = [-0.6, 0.6], z = [-1.2, 0.2] }"
    )
    return Fault(
        "custom_pivot",
        "must be given where a custom pivot is asked for\n"
        f"(the room that there is, from the standard seat, for example {example})",
    )


def custom_pivot(
    evaluator: Evaluator,
    plan: StudyPlan,
    best_stack_peak_deg: float | None,
    progress: Progress | None = None,
    kits: Sequence[Kit] = (),
) -> CustomPivot:
    """Find the best pivot within the room that the case states, under all of its limits.

    Of pivots that no gauge tells apart the one with fewest parts is taken, then one whose kit
    leaves the taper alone, then the cheapest.

    Parameters
    ----------
    evaluator : Evaluator
        The case, with its `custom_pivot` table.
    plan : StudyPlan
        Trials, seed and storage.
    best_stack_peak_deg : float or None
        Least peak without a custom pivot, to compare with. [deg]
    progress : callable, optional
        Called with (trials done, trials wanted).
    kits : sequence of Kit
        Kits one of which the pivot is to carry; none for the case's own stack, joint and stud.

    Returns
    -------
    CustomPivot
        Where nothing within the room fits, the pivot that comes nearest, with its reasons.

    Raises
    ------
    PivotwrightError
        The case states no room, or none in which the linkage moves.
    """
    if evaluator.case.custom_pivot is None:
        fault = missing_room(evaluator.case)
        raise PivotwrightError(f"{fault.location} {fault.message}")
    kits = sorted(kits, key=lambda kit: (kit.irreversible, kit.known_price))
    scores = _scores(evaluator, kits)
    outcome = run_custom_study(scores, plan, progress)
    best = _as_made(scores, outcome.pivots.rows(np.array([simplest(scores, outcome.pivots)])))
    if not np.isfinite(best.peak[0]):
        raise PivotwrightError(
            f"custom_pivot leaves no room in which the {evaluator.case.words.rod} could follow the "
            "wheel over the used travel\n"
            "(it counts from the standard seat, along the axes of the points)"
        )
    pivot = scores.space.settings(best.choices, best.moves)
    margins = scores.margins(best.choices, best.moves, follow="smallest")
    (choice,) = best.choices
    fitted, pieces = scores.evaluators[choice[0]], scores.space.stack(choice).pieces
    (setting,) = described_settings(fitted, pivot, margins, [pieces])
    return CustomPivot(
        **setting.model_dump(),
        kit=_name(kits, choice),
        **_coordinates(scores, best, pivot),
        held_by=_held_by(scores, best, margins),
        steering=_steering_cost(evaluator, pivot),
        best_stack_peak_toe_change_deg=best_stack_peak_deg,
        uncertainty=uncertainty(evaluator, pivot, plan.seed),
        toe_change_deg=np.degrees(evaluator.toe_change(pivot)[0]).tolist(),
        change_mm=float(hardware_change(scores.space, pivot)[0]),
        trade_offs=_trade_offs(scores, outcome, best, best_stack_peak_deg, plan.seed, kits),
        study_trials=outcome.trials,
        pivots_scored=scores.scored,
    )


def _scores(evaluator: Evaluator, kits: Sequence[Kit]) -> CustomScores:
    """Prepare the car with each of the kits; they share its poses, which depend on none."""
    cases = [case_with_kit(evaluator.case, kit) for kit in kits] or [evaluator.case]
    return CustomScores([replace(evaluator, case=case) for case in cases], CustomSpace.of(cases))


def _name(kits: Sequence[Kit], choice: Choice) -> str | None:
    return kits[choice[0]].name if kits else None


def _as_made(scores: CustomScores, best: Pivots) -> Pivots:
    """Round a pivot (one row) to what a drawing would state, where that breaks nothing."""
    step = MADE_IN_STEPS[scores.evaluator.case.units]
    moves = np.where(np.abs(best.moves) < SMALLEST_MOVE, 0.0, np.round(best.moves / step) * step)
    moves = np.clip(moves, scores.space.low, scores.space.high)
    made = scored(scores, best.choices, moves)
    return made if made.violation[0] <= best.violation[0] else best


def _as_typed(moves: Array, case: Case) -> Array:
    """Moves of a left wheel along the axes of the case's points, and back, (..., 6). [mm]."""
    typed: Array = moves * np.tile(mirror_of(case), 2)
    return typed


def _coordinates(scores: CustomScores, best: Pivots, pivot: Settings) -> dict[str, Any]:
    """State the outer pivot's coordinates, the inner one's if it may move, and their tolerances."""
    told = np.arange(6 if (scores.space.free >= 3).any() else 3)
    tolerances = pivot_tolerances(scores.evaluator, pivot, told)
    moves = _as_typed(best.moves[0], scores.evaluator.case)
    fitted = scores.evaluators[best.choices[0][0]]
    coordinates = [
        Coordinate(
            pivot=COORDINATES[k][0],
            axis=COORDINATES[k][1],
            move_mm=moves[k],
            tolerance_mm=tolerances.alone[k],
            tolerance_together_mm=tolerances.together,
        )
        for k in told
    ]
    return {
        "coordinates": coordinates,
        "limits_within_tolerance": limits_broken_within(fitted, pivot, told, tolerances),
    }


def _held_by(scores: CustomScores, best: Pivots, margins: Sequence[Margin]) -> list[str]:
    """Name the limits and the sides of the room that a pivot stands at."""
    space, case = scores.space, scores.evaluator.case
    moves = _as_typed(best.moves[0], case)
    at_a_side = np.minimum(best.moves[0] - space.low, space.high - best.moves[0]) < AT_A_LIMIT
    sides = [
        f"room of the {' pivot along '.join(COORDINATES[k])} ({length_text(moves[k], case.units)})"
        for k in space.free
        if at_a_side[k]
    ]
    limits = [
        f"tilt of the {margin.name}" if margin.kind == "tilt" else margin.name
        for margin in margins
        if margin.kind != "reach" and margin.margin[0] < AT_A_LIMIT
    ]
    return [*limits, *sides]


def _steering_cost(evaluator: Evaluator, pivot: Settings) -> SteeringCost | None:
    """Compare steering with the pivot and with the car as it is; None where nothing steers."""
    if not evaluator.case.words.steers:
        return None
    as_is = Settings.single(0.0, 0.0, evaluator.case.linkage_choices[0])
    before, after = (
        abs(float(np.degrees(evaluator.steer_rate(setting)[0]))) for setting in (as_is, pivot)
    )
    full = evaluator.case.steering.rack_travel
    travels = np.array([0.5 * full, full] if full else [])
    if evaluator.corner.on_beam:  # where a turn to the right is another one than to the left
        travels = np.concatenate([travels, -travels])
    return SteeringCost(
        rate_before_deg_per_mm=before,
        rate_after_deg_per_mm=after,
        rate_change_percent=100.0 * (after / before - 1.0),
        turn_toe_out=[
            TurnToeOut(
                rack_travel_mm=travel,
                before_deg=_turn_toe_out_deg(evaluator, as_is, travel),
                after_deg=_turn_toe_out_deg(evaluator, pivot, travel),
            )
            for travel in travels.tolist()
        ],
    )


def _turn_toe_out_deg(evaluator: Evaluator, setting: Settings, rack_travel: float) -> float | None:
    """Turn toe-out of one setting at ride height; None out of reach. [deg]."""
    places = np.array([0.0, rack_travel, -rack_travel])
    motion = evaluator.motion(setting, np.zeros(3), places)
    wheel = Wheel.seen(evaluator, setting, motion)
    straight, one_way, other_way = wheel.toe[0]
    if wheel.other_toe is not None:  # the same turn, seen at the other wheel
        other_way = wheel.other_toe[0, 1] + straight - wheel.other_toe[0, 0]
    angle = float(np.degrees(turn_toe_out(straight, one_way, other_way)))
    return angle if np.isfinite(angle) else None


def _trade_offs(
    scores: CustomScores,
    outcome: CustomOutcome,
    best: Pivots,
    best_stack_peak_deg: float | None,
    seed: int,
    kits: Sequence[Kit],
) -> list[TradeOff]:
    """Pivots that ask for less and leave no more toe than the tolerance or the best stack."""
    evaluator = scores.evaluator
    case = evaluator.case
    as_is = Settings.single(0.0, 0.0, case.linkage_choices[0])
    most = max(case.aim.tolerance_deg, best_stack_peak_deg or 0.0)
    worth = Worth(float(evaluator.steer_rate(as_is)[0]), float(np.radians(most)))
    others = np.flatnonzero((outcome.pivots.choices != best.choices).any(axis=1))
    known = joined([best, outcome.pivots.rows(others)])
    found = custom_trade_offs(scores, known, worth, seed)
    settings = scores.space.settings(found.pivots.choices, found.pivots.moves)
    return [
        TradeOff(
            kit=_name(kits, found.pivots.choices[k]),
            moves_mm=_as_typed(found.pivots.moves[k], case).tolist(),
            outer_drop_mm=settings.outer_drop[k],
            rack_raise_mm=settings.rack_raise[k],
            **fitted_to_linkage(case, float(settings.ball_joint_drop[k])),
            peak_toe_change_deg=np.degrees(found.pivots.peak[k]),
            change_mm=found.change[k],
            clearance_mm=found.clearance[k] if np.isfinite(found.clearance[k]) else None,
            steer_rate_change_percent=100.0 * found.rate_change[k] if case.words.steers else None,
        )
        for k in range(len(settings))
    ]
