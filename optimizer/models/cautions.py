"""What must be told before a part is changed, as facts; sets of them are sets of values."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.models.stops import AtPlace, DeadCenter

CautionKind = Literal[
    "dead-center",
    "steered",
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
    "taper",
    "stud-unknown",
    "reset-toe",
    "no-heating",
    "judgement",
]


class Worsened(AtPlace):
    """A toe change over the travel, rack off center, that number 1 makes larger. [deg].

    At the rack travel; its place has no wheel travel.
    """

    before_deg: float
    after_deg: float


class Caution(Fact):
    """A caution and what it is about: a dead center, a steered curve, a length, a kit.

    The length is None of a stack whose height is not settled yet; `washers` tells that a stack is
    of several pieces.
    """

    kind: CautionKind
    length_mm: float | None = None
    kit: str | None = None
    near: DeadCenter | None = None
    worsened: Worsened | None = None
    washers: bool = False
