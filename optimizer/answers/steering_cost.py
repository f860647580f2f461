"""What custom pivots change in the steering."""

from collections.abc import Sequence

from optimizer.answers.side_effects import side_effects_between
from optimizer.answers.worsened import worsened
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.models.case import Case
from optimizer.models.custom_pivot import SteeringCost, TurnToeOut
from optimizer.models.side_effects import SideEffects


def steering_costs(
    now: Sequence[Evaluator], fitted: Sequence[tuple[Evaluator, Settings]]
) -> list[SteeringCost | None]:
    """Compare steering of the car as it is and with the pivots fitted, for each wheel.

    None where nothing steers.
    """
    if not now[0].case.words.steers:
        return [None] * len(now)
    evaluators, settings = zip(*fitted, strict=True)
    found = side_effects_between((now, [Settings.single()] * len(now)), (evaluators, settings))
    return [_of_wheel(one.case, effects) for one, effects in zip(now, found, strict=True)]


def _of_wheel(case: Case, effects: SideEffects) -> SteeringCost:
    rate, change = effects.steer_rate_deg_per_mm, effects.steer_rate_change_percent
    assert rate.before is not None  # the wheel steers
    assert rate.after is not None
    assert change is not None
    return SteeringCost(
        rate_before_deg_per_mm=rate.before,
        rate_after_deg_per_mm=rate.after,
        rate_change_percent=change,
        turn_toe_out=[
            TurnToeOut(
                rack_travel_mm=turn.rack_travel_mm,
                before_deg=None if turn.before is None else turn.before.toe_out_deg,
                after_deg=None if turn.after is None else turn.after.toe_out_deg,
            )
            for turn in effects.turn_toe_out
        ],
        worsened=worsened(case.side, effects, case.aim, custom=True),
    )
