"""How well the points of a case are known."""

from typing import Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel, location, number, quoted
from optimizer.models.quantities import Triple, file_units
from optimizer.units import MM_PER, length_text

USUAL_ACCURACY_MM = 2.0  # of a tape, a plumb bob and some care; common practice, no source
WORST_ACCURACY_MM = 100.0
UNKNOWN_X_MM = 40.0  # of a typical x, where nobody measured it; common practice, no source


class Accuracy(FrozenModel):
    """How well the points are known: one standard deviation of each coordinate."""

    points: float | dict[str, Triple] = Field(USUAL_ACCURACY_MM, validate_default=False)
    """Of every point, or by point name for x, y and z; unnamed points have the usual 2 mm. [mm]"""

    x: Literal["measured", "unknown"] = "measured"
    """Whether x was measured at all; "unknown" where points were taken in the front view alone."""

    def of(self, point: str) -> Triple:
        """Standard deviation of a point's x, y and z. [mm]."""
        if isinstance(self.points, float):
            of_point = self.points, self.points, self.points
        else:
            of_point = self.points.get(point, (USUAL_ACCURACY_MM,) * 3)
        return of_point if self.x == "measured" else (UNKNOWN_X_MM, *of_point[1:])

    @field_validator("points", mode="plain")
    @classmethod
    def _every_point_or_by_name(cls, typed: Any, info: ValidationInfo) -> float | dict[str, Triple]:
        if not isinstance(typed, dict):
            return _deviation(typed, info)
        known: dict[str, Triple] = {}
        found = []
        for name, value in typed.items():
            try:
                known[name] = _deviations(value, info)
            except ValueError as error:
                found.append(Fault(location([name]), str(error)))
        if found:
            raise FaultList(found)
        return known


def _deviations(typed: object, info: ValidationInfo) -> Triple:
    if not isinstance(typed, list | tuple):
        every = _deviation(typed, info)
        return every, every, every
    if len(typed) != 3:
        raise ValueError(f"must be a number or three numbers [x, y, z], got {quoted(typed)}")
    x, y, z = (_deviation(item, info) for item in typed)
    return x, y, z


def _deviation(typed: object, info: ValidationInfo) -> float:
    units = file_units(info)
    deviation = number(typed) * MM_PER[units]
    if not 0.0 <= deviation <= WORST_ACCURACY_MM:
        worst, got = (length_text(x, units) for x in (WORST_ACCURACY_MM, deviation))
        raise ValueError(f"must be between 0 and {worst}, got {got}")
    return deviation
