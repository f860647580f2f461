"""What a wheel does now, and which cures there are for it."""

from typing import Literal

from optimizer.models.answer import Answer
from optimizer.models.settling import StaticDrift

Steers = Literal["toe-in", "toe-out", "no change"]
HeightCure = Literal["lower-outer", "raise-outer"]
LengthCure = Literal["lengthen-rod", "shorten-rod"]


class Diagnosis(Answer):
    """What a wheel does now, and what cures it.

    A cure is None where that part of the curve stays within the wanted tolerance.  Lowering the
    outer pivot does what raising the inner one does.  `drift` is empty where toe stays within the
    tolerance as the car comes to stand a little lower or higher.
    """

    arms: Literal["ahead", "behind"]
    steers_in_bump: Steers
    steers_in_droop: Steers
    slope_share_deg: float
    curvature_share_deg: float
    height_cure: HeightCure | None
    length_cure: LengthCure | None
    drift: list[StaticDrift]
