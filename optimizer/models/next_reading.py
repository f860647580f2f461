"""What to read next, as facts: what each reading would still leave to chance."""

from typing import Literal

from optimizer.models.answer import Answer, Fact

ReadingKind = Literal[
    "sweep",
    "rod_turned",
    "sideways",
    "camber",
    "steered",
    "turn_toe_out",
    "caster_sweep",
    "three_with_stack",
]


class NextReading(Fact):
    """A reading that may be taken next: what the stack chosen after it would still lose.

    `loss_deg` is by how much the peak of that stack is expected to exceed the best there is, over
    the cars that are still possible; in `enough_of_100` of 100 of them it is by no more than 0.01
    deg.  `minutes` is what it takes; `worth_it` whether that is the reading to take.
    """

    kind: ReadingKind
    minutes: float
    loss_deg: float
    enough_of_100: float
    worth_it: bool


class NextReadings(Answer):
    """What is lost and enough as it is now, and every reading that may be next, the best first."""

    loss_deg: float
    enough_of_100: float
    ranked: list[NextReading]
