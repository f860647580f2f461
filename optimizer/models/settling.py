"""What toe must be set to on a car that is yet to settle."""

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
