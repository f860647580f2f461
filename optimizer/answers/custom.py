"""A custom pivot: where it must sit, how exactly it must be made, and what it costs."""

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.answers.options import option_of_wheels
from optimizer.answers.steering_cost import steering_costs
from optimizer.answers.uncertainty import uncertainty
from optimizer.car.adjust import mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.settings import Settings
from optimizer.errors import Fault, PivotwrightError
from optimizer.limits.described import described_settings, fitted_by
from optimizer.limits.margins import Margin
from optimizer.models.case import Case
from optimizer.models.comparison import AXES
from optimizer.models.custom_pivot import (
    Coordinate,
    CustomPivot,
    CustomWheel,
    Farther,
    HeldByLimit,
    HeldByRoom,
    LeftByRule,
    PivotName,
    SteeringCost,
    TradedWheel,
    TradeOff,
)
from optimizer.options.dimensions import OptionSpace
from optimizer.options.hardware import Hardware
from optimizer.options.moves.left_over import left_over
from optimizer.options.moves.lots import CustomCar
from optimizer.options.moves.scores import CustomScores, Pivots
from optimizer.options.moves.search import run_custom_study
from optimizer.options.moves.space import HARDWARE, CustomSpace
from optimizer.options.moves.tolerance import limits_broken_within, pivot_tolerances
from optimizer.options.moves.trade_offs import CustomTradeOff, custom_trade_offs
from optimizer.options.study.run import Progress, StudyPlan

LEAST_FARTHER = 0.1  # mm; a smaller move is not worth a word
AT_A_LIMIT = 0.1  # mm or deg; less than this is left where a limit decides
PIVOTS: tuple[PivotName, ...] = ("outer", "inner")
COORDINATES = tuple(product(PIVOTS, AXES))


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
    space: OptionSpace,
    plan: StudyPlan,
    best_stack_peak_deg: float | None,
    progress: Progress | None = None,
) -> CustomPivot:
    """Find the best pivot for every wheel within the room that the case states.

    Of pivots that no gauge tells apart the one with fewest parts is taken, then one whose kit
    leaves the taper alone, then the cheapest.

    Parameters
    ----------
    space : OptionSpace
        What may be fitted beside the pivot; its cases must have a `custom_pivot` table.
    plan : StudyPlan
        Trials, seed and storage.
    best_stack_peak_deg : float or None
        Least peak without a custom pivot, to compare with. [deg]
    progress : callable, optional
        Called with (trials done, trials wanted).

    Returns
    -------
    CustomPivot
        Where nothing within the room fits, the pivot that comes nearest, with its reasons.

    Raises
    ------
    PivotwrightError
        The case states no room, or none in which the linkage moves.
    """
    custom = _Custom.of(space)
    outcome = run_custom_study(custom.car, plan, progress)
    best = outcome.recommended
    if not np.isfinite(best.peak):
        rod = space.wheels[0].evaluator.case.words.rod
        raise PivotwrightError(
            f"custom_pivot leaves no room in which the {rod} could follow the "
            "wheel over the used travel\n"
            "(it counts from the standard seat, along the axes of the points)"
        )
    costs = steering_costs(
        [scores.evaluator for scores in custom.car.wheels],
        [_fitted(*each) for each in zip(custom.car.wheels, best.wheels, strict=True)],
    )
    wheels = [
        _described(scores, pivot, cost, plan.seed)
        for scores, pivot, cost in zip(custom.car.wheels, best.wheels, costs, strict=True)
    ]
    changes = [
        float(scores.space.change(pivot.choices, pivot.moves)[0])
        for scores, pivot in zip(custom.car.wheels, best.wheels, strict=True)
    ]
    most = max(space.wheels[0].evaluator.case.aim.tolerance_deg, best_stack_peak_deg or 0.0)
    offers = custom_trade_offs(custom.car, outcome.offers, float(np.radians(most)))
    return CustomPivot(
        **dict(option_of_wheels(space, custom.hardware[best.hardware], wheels)),
        best_stack_peak_toe_change_deg=best_stack_peak_deg,
        change_mm=sum(changes),
        trade_offs=[custom.trade_off(offer) for offer in offers],
        study_trials=outcome.trials,
        pivots_scored=custom.car.scored,
    )


class _Custom(Struct, frozen=True):
    """The car whose pivots are sought, and the alternatives of hardware that they may carry."""

    car: CustomCar
    hardware: list[Hardware]

    @staticmethod
    def of(space: OptionSpace) -> "_Custom":
        for wheel in space.wheels:
            if wheel.evaluator.case.custom_pivot is None:
                fault = missing_room(wheel.evaluator.case)
                raise PivotwrightError(f"{fault.location} {fault.message}")
        numbers = [k for k, one in enumerate(space.hardware) if not one.must_leave]
        numbers.sort(key=lambda k: (space.hardware[k].drills, space.hardware[k].price))
        evaluators = [[wheel.parts[k].evaluator for k in numbers] for wheel in space.wheels]
        spaces = [CustomSpace.of([one.case for one in wheel]) for wheel in evaluators]
        # Where one wheel's inner pivot is made to a height of its own, no spacer lifts the rack.
        racks = min((one.racks for one in spaces), key=len)
        scores = [
            CustomScores(of_wheel, replace(room, racks=racks) if space.shares_rack else room)
            for of_wheel, room in zip(evaluators, spaces, strict=True)
        ]
        car = CustomCar(tuple(scores), space.shares_rack)
        return _Custom(car, [space.hardware[k] for k in numbers])

    def trade_off(self, offer: CustomTradeOff) -> TradeOff:
        """Describe a trade-off."""
        kit = self.hardware[offer.pivot.hardware].kit
        return TradeOff(
            kit=None if kit is None else kit.name,
            peak_toe_change_deg=float(np.degrees(offer.pivot.peak)),
            change_mm=offer.change,
            clearance_mm=offer.clearance if np.isfinite(offer.clearance) else None,
            wheels=[
                _traded(*each)
                for each in zip(self.car.wheels, offer.pivot.wheels, offer.rate_change, strict=True)
            ],
        )


def _traded(scores: CustomScores, pivot: Pivots, rate_change: float) -> TradedWheel:
    (choice,), (moves,) = pivot.choices, pivot.moves
    case = scores.evaluator.case
    settings = scores.space.settings(pivot.choices, pivot.moves)
    return TradedWheel(
        **dict(fitted_by(case, settings, scores.space.stack(choice).pieces)),
        moves_mm=_as_typed(moves, case).tolist(),
        steer_rate_change_percent=100.0 * rate_change if case.words.steers else None,
    )


def _described(
    scores: CustomScores, pivot: Pivots, cost: SteeringCost | None, seed: int
) -> CustomWheel:
    """Describe the pivot of a wheel (one row)."""
    (choice,) = pivot.choices
    evaluator, settings = _fitted(scores, pivot)
    margins = scores.margins(pivot.choices, pivot.moves, follow="smallest")
    pieces = scores.space.stack(choice).pieces
    (setting,) = described_settings(evaluator, settings, margins, [pieces])
    told = np.arange(6 if (scores.space.free >= 3).any() else 3)
    tolerances = pivot_tolerances(evaluator, settings, told)
    moves = _as_typed(pivot.moves[0], evaluator.case).tolist()
    case, made = evaluator.case, evaluator.case.custom_pivot
    assert made is not None
    rooms = [*made.outer.spans(), *made.inner.spans()]
    places = _as_typed(np.hstack(evaluator.corner.pivots(settings))[0], case).tolist()
    faster = None if cost is None else cost.rate_change_percent
    return CustomWheel(
        **dict(setting) | {"steer_rate_change_percent": faster},
        coordinates=[
            Coordinate(
                pivot=COORDINATES[k][0],
                axis=COORDINATES[k][1],
                move_mm=moves[k],
                place_mm=places[k],
                room_mm=rooms[k],
                tolerance_mm=tolerances.alone[k],
                tolerance_together_mm=tolerances.together,
            )
            for k in told
        ],
        limits_within_tolerance=limits_broken_within(evaluator, settings, told, tolerances),
        held_by=[*_limits_held(margins), *_sides_held(scores.space, pivot.moves[0], case)],
        left_by_rule=_left_by_rule(scores, pivot),
        steering=cost,
        uncertainty=uncertainty(ManyCars.drawn(evaluator, seed), settings),
        toe_change_deg=np.degrees(evaluator.toe_change(settings)[0]).tolist(),
    )


def _left_by_rule(scores: CustomScores, pivot: Pivots) -> LeftByRule | None:
    """What the rule against far moves leaves, where it is worth a line."""
    left = left_over(scores, pivot)
    if left is None:
        return None
    moves = _as_typed(left.moves, scores.evaluator.case)
    told = np.flatnonzero(np.abs(moves) >= LEAST_FARTHER).tolist()
    farther = [
        Farther(pivot=COORDINATES[k][0], axis=COORDINATES[k][1], move_mm=moves[k]) for k in told
    ]
    return LeftByRule(moves=tuple(farther), gain_deg=float(np.degrees(left.gain)))


def _as_typed(moves: Array, case: Case) -> Array:
    """Moves, or places, of a left wheel along the axes of the case's points, and back, (..., 6).

    [mm].
    """
    typed: Array = moves * np.tile(mirror_of(case), 2)
    return typed + 0.0  # no -0.0


def _limits_held(margins: Sequence[Margin]) -> Iterator[HeldByLimit]:
    for margin in margins:
        if margin.kind != "reach" and margin.margin[0] < AT_A_LIMIT:
            yield HeldByLimit(kind=margin.kind, name=margin.name)


def _sides_held(space: CustomSpace, moves: Array, case: Case) -> Iterator[HeldByRoom]:
    """Sides of the room that moves of a left wheel stand at, along the axes of the case. [mm]."""
    to_low, to_high = moves - space.low, space.high - moves
    at_a_side = np.minimum(to_low, to_high) < AT_A_LIMIT
    typed = _as_typed(np.where(to_low < to_high, space.low, space.high), case).tolist()
    for k in space.free[at_a_side[space.free]].tolist():
        pivot, axis = COORDINATES[k]
        yield HeldByRoom(pivot=pivot, axis=axis, move_mm=typed[k])


def _fitted(scores: CustomScores, pivot: Pivots) -> tuple[Evaluator, Settings]:
    """What a pivot (one row) makes of a wheel."""
    (choice,) = pivot.choices
    settings = scores.space.settings(pivot.choices, pivot.moves)
    return scores.evaluators[choice[HARDWARE]], settings
