"""What `check` has to say of a case that can be read."""

from typing import Literal

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer
from optimizer.models.comparison import SidesCompared
from optimizer.models.subject import Subject
from optimizer.units import Side


class Doubt(Answer):
    """Something in a case that is possible but looks wrong."""

    location: str
    message: str


class WheelCheck(Answer):
    """What a case amounts to at one wheel, in figures by name, and every doubt about it."""

    side: Side
    alignment: AlignmentAnswer | None = None
    facts: dict[str, str]
    doubts: list[Doubt]


class CheckResult(Answer):
    """The answer of `check`; `comparison` is None where one wheel was measured."""

    format: Literal[2] = 2
    subject: Subject
    wheels: list[WheelCheck]
    comparison: SidesCompared | None = None
