"""How reports state toe, and in which words."""

from collections.abc import Iterator

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.dialect import Dialect
from optimizer.models.quantities import PositiveLength
from optimizer.units import ToeUnit, Units


class Display(FrozenModel):
    """The unit in which reports state toe, beside degrees."""

    toe_unit: ToeUnit = "deg"
    """Degrees, minutes of arc, or a distance at a diameter."""
    diameter: PositiveLength | None = None
    """Where a toe distance is taken: tire, rim flange or gauge plate. [mm]"""
    words: Dialect = "us"
    """"us" or "uk", the words of the reports: tie rod and tire, or track rod and tyre"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.toe_unit in ("mm", "in") and self.diameter is None:
            message = f'must be given where toe_unit is "{self.toe_unit}"'
            hint = "(toe as a distance means nothing without the diameter that it is taken at)"
            yield Fault("diameter", f"{message}\n{hint}")
