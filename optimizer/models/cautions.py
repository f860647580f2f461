"""What must be told before a part is changed, as facts; sets of them are sets of values."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.models.stops import AtPlace, DeadCenter

CautionKind = Literal[
    "dead-center",
    "steered",
    "turn",
    "single-shear",
    "no-tilt-limit",
    "no-obstacles",
    "inner-raised",
    "inner-shifted",
    "lateral-brackets",
    "lift-block",
    "shackle",
    "spaced-part",
    "extension",
    "thread",
    "taper-drilled",
    "taper-gone",
    "taper",
    "stud-unknown",
    "reset-toe",
    "no-heating",
    "judgement",
]


class Worsened(AtPlace):
    """What number 1, or a `custom` pivot, makes worse in a turn; its place has no wheel travel.

    "steered" is a toe change over the travel with the rack off center, "turn" the turn toe-out that
    gets worst, with what it would be on tires that roll freely, None where that is not known. [deg]
    `limited` tells that the case states a limit to it.
    """

    kind: Literal["steered", "turn"]
    before_deg: float
    after_deg: float
    ackermann_deg: float | None = None
    custom: bool = False
    limited: bool = False


class Caution(Fact):
    """A caution and what it is about: a dead center, what a turn makes worse, a length, a kit.

    The length is None of a stack whose height is not settled yet; `washers` tells that a stack is
    of several pieces.
    """

    kind: CautionKind
    length_mm: float | None = None
    kit: str | None = None
    near: DeadCenter | None = None
    worsened: Worsened | None = None
    washers: bool = False
