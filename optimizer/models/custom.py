"""The room that a case leaves for pivots made to measure."""

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel, as_empty, file_units, number, quoted
from optimizer.models.quantities import WIDEST_ADJUSTMENT_MM, in_millimeters
from optimizer.units import Units, length_text


def _span(typed: Any, info: ValidationInfo) -> tuple[float, float]:
    if not isinstance(typed, list | tuple) or len(typed) != 2:
        raise ValueError(f"must be two numbers [least, greatest], got {quoted(typed)}")
    least, greatest = (in_millimeters(number(item), info) for item in typed)
    units = file_units(info)
    if max(abs(least), abs(greatest)) > WIDEST_ADJUSTMENT_MM:
        widest = length_text(WIDEST_ADJUSTMENT_MM, units)
        raise ValueError(f"must lie within {widest} of the standard place, got {quoted(typed)}")
    if greatest < least:
        raise ValueError(f"must be [least, greatest], got {quoted(typed)}\n(swapped?)")
    return least, greatest


Span = Annotated[tuple[float, float], BeforeValidator(_span)]


class Room(FrozenModel):
    """Room for one pivot, counted from its standard place along the axes of the points. [mm].

    Along an axis that is left out the pivot stays.
    """

    x: Span = (0.0, 0.0)
    """Forward. [mm]"""
    y: Span = (0.0, 0.0)
    """To the left of the car. [mm]"""
    z: Span = (0.0, 0.0)
    """Up. [mm]"""

    def spans(self) -> tuple[tuple[float, float], ...]:
        """Least and greatest move along x, y and z. [mm]."""
        return self.x, self.y, self.z

    @property
    def has_height(self) -> bool:
        """Whether the pivot may be made higher or lower."""
        return self.z[0] < self.z[1]


class PivotRoom(FrozenModel):
    """Room for an outer pivot made to measure, and for the inner one too if it is to be moved."""

    outer: Room = as_empty()
    """Room about the standard seat."""
    inner: Room = as_empty()
    """Room about the measured inner pivot."""

    def _faults(self, units: Units) -> Iterator[Fault]:
        spans = (*self.outer.spans(), *self.inner.spans())
        if all(least == greatest for least, greatest in spans):
            hint = "(for example outer = { x = [-10.0, 10.0], z = [-30.0, 0.0] })"
            yield Fault("outer", f"must leave room along x, y or z\n{hint}")
