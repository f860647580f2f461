"""How static toe follows the ride height, and what to set on a car that is yet to settle."""

from typing import Literal

from optimizer.models.answer import Fact
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
