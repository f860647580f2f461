"""Lengths measured beside the points: they tell what coordinates by tape leave open."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel, quoted, unknown_key
from optimizer.models.quantities import Length, Number, PositiveLength, above_zero, in_millimeters
from optimizer.units import Units

FLOOR = "floor"
USUAL_LENGTH_ACCURACY_MM = 1.0  # of a tape from joint to joint; common practice, no source
Accuracy = Annotated[Number, AfterValidator(above_zero), AfterValidator(in_millimeters)]


def _two_names(typed: Any) -> tuple[str, str]:
    if not isinstance(typed, list | tuple) or len(typed) != 2:
        raise ValueError(f"must be two names in a list, got {quoted(typed)}")
    first, second = typed
    if not isinstance(first, str) or not isinstance(second, str):
        raise ValueError(f"must be two names in quotes, got {quoted(typed)}")
    if first == second:
        raise ValueError(f"must be two different points, got {quoted(typed)}")
    return first, second


class MeasuredLength(FrozenModel):
    """One distance between two points, or the difference of two heights."""

    between: Annotated[tuple[str, str], BeforeValidator(_two_names)]
    """names of two points; "floor" is one, the ground under the wheel, for a rise"""
    length: PositiveLength | None = None
    """Straight distance from the one to the other. [mm]"""
    rise: Length | None = None
    """In place of length: how much higher the second is than the first. [mm]"""
    accuracy: Accuracy | None = None
    """One standard deviation; 1 mm if left out. [mm]"""

    @property
    def sigma(self) -> float:
        """One standard deviation. [mm]."""
        return USUAL_LENGTH_ACCURACY_MM if self.accuracy is None else self.accuracy

    def _faults(self, units: Units) -> Iterator[Fault]:
        if (self.length is None) == (self.rise is None):
            yield Fault("length", "must be given, or rise in its place, not both")
        elif self.length is not None and FLOOR in self.between:
            hint = f'must be given as rise where "{FLOOR}" is named: how much higher the other is'
            yield Fault("length", hint)


def unknown_names(lengths: Sequence[MeasuredLength], known: Iterable[str]) -> Iterator[Fault]:
    """Names that no point of the layout has."""
    names = [*known, FLOOR]
    for place, one in enumerate(lengths, start=1):
        for name in one.between:
            if name not in names:
                yield Fault(f"[{place}].between", f"{quoted(name)} {unknown_key(name, names)}")
