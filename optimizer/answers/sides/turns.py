"""Turns of a car of which both wheels were measured: each to the side of its inner wheel."""

from optimizer.models.result import SuggestResult
from optimizer.models.side_effects import Turn, TurnAngles


def with_turns_of_both(
    left: SuggestResult, right: SuggestResult
) -> tuple[SuggestResult, SuggestResult]:
    """Put the other wheel in the place of each wheel's mirror image.

    One rack moves both, so the turn in which a wheel is the inner one has the other as its outer
    one: the left wheel's answer then tells of turns to the left, the right wheel's of turns to the
    right.
    """
    own = left.side_effects.turn_toe_out, right.side_effects.turn_toe_out
    return _with(left, *own), _with(right, *own[::-1])


def _with(answer: SuggestResult, inner: list[Turn], outer: list[Turn]) -> SuggestResult:
    turns = [
        Turn(
            rack_travel_mm=one.rack_travel_mm,
            before=_angles(one.before, other.before),
            after=_angles(one.after, other.after),
        )
        for one, other in zip(inner, outer, strict=True)
    ]
    found = answer.side_effects.model_copy(update={"turn_toe_out": turns})
    return answer.model_copy(update={"side_effects": found})


def _angles(inner: TurnAngles | None, outer: TurnAngles | None) -> TurnAngles | None:
    if inner is None or outer is None:
        return None
    return TurnAngles(
        inner_deg=inner.inner_deg,
        outer_deg=outer.outer_deg,
        toe_out_deg=inner.inner_deg - outer.outer_deg,
        ackermann_toe_out_deg=outer.ackermann_toe_out_deg,
    )
