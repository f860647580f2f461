"""What a wheel does now, how its toe follows the ride height, and which cures there are."""

from typing import Literal

from optimizer.models.answer import Answer, Fact
from optimizer.units import Side


class Settling(Fact):
    """Toe of a wheel to set at ride height, so that it is `toe_deg` once `settles_by_mm` lower.

    `set_deg` is None where the linkage can't follow that far.
    """

    side: Side
    settles_by_mm: float
    toe_deg: float
    set_deg: float | None


class StaticDrift(Fact):
    """Static toe that drifts with ride height, told where it leaves the tolerance.

    How much toe one wheel gains, toe-in positive, where the car comes to stand `by_mm` lower, and
    where as much higher; None where it can't go or was not swept that far.
    """

    kind: Literal["static-drift"] = "static-drift"
    by_mm: float
    lower_deg: float | None
    higher_deg: float | None


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
