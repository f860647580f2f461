"""Alternatives of hardware as parts of a list of settings, and what they have in common."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from optimizer.car.evaluate import Evaluator
from optimizer.options.space import Space


class Part(Struct, frozen=True):
    """The settings of one alternative of hardware, and what decides between alternatives."""

    evaluator: Evaluator
    space: Space
    drills: bool = False
    price: float = 0.0


def sharing_poses(evaluators: Sequence[Evaluator]) -> list[Evaluator]:
    """Let evaluators of one car, which differ in their limits only, share what they solve."""
    first = evaluators[0]
    return [replace(first, case=one.case) for one in evaluators]


def limits_key(evaluator: Evaluator) -> tuple[object, ...]:
    """What two evaluators have in common that move the wheel alike and allow as much."""
    case = evaluator.case
    return id(evaluator.corner), case.joint, case.stud, case.thread
