"""How sure a choice was by tape alone, and how sure it is after what was read."""

from typing import Literal

from optimizer.models.answer import Answer
from optimizer.models.setting import Chances, Fitted

Role = Literal["by-tape", "now", "next"]


class Compared(Fitted):
    """What may be fitted to a wheel, and what it is: number 1 by tape, fitted now, or next."""

    roles: list[Role]


class SureAfter(Answer):
    """How each of what is compared comes out with what is known by then, as `suggest` tells it.

    From the tape and the toe of the first `sweeps` sweeps, with all that was read `beside` toe too;
    an entry is None where no possible car follows the wheel.
    """

    sweeps: int
    beside: bool
    chances: list[Chances | None]


class HowSure(Answer):
    """The same table by tape alone, after the first sweep, after all of them, after the visit.

    `stages` leaves out what adds nothing; what is to be fitted next comes first in each of them,
    `limits_stated` says whether the case states any limit to keep.  The last stage is what
    `suggest` says of the corrected case as `gauge --write` writes it.
    """

    compared: list[Compared]
    limits_stated: bool
    stages: list[SureAfter]
