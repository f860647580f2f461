"""A readings file without any readings: a car's lengths, and what a shim is worth on it."""

from collections.abc import Iterator
from typing import Literal

from pydantic import SerializeAsAny

from optimizer.errors import Fault
from optimizer.models.answer import Answer, Fact
from optimizer.models.base import FrozenModel, as_empty
from optimizer.models.cautions import Caution
from optimizer.models.display import Display
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.quantities import Name
from optimizer.models.remedies import Arms
from optimizer.models.shelf import Shelf
from optimizer.models.subject import Subject
from optimizer.units import Units


class Lengths(FrozenModel):
    """Lengths of a car that has not been swept yet."""

    format: Literal[1]
    """format = 1, the only one that this version reads"""
    units: Units
    """"mm" or "in", for every length in the file"""
    name: Name = "lengths"
    """A line of text that names the car; the file's own name if left out."""
    car: MeasuredCar
    """a table with rod_length and steering_arm"""
    shelf: Shelf | None = None
    """Pieces at hand: what each is worth is told."""
    display: Display = as_empty()
    """How reports state toe."""

    def _faults(self, units: Units) -> Iterator[Fault]:
        missing = [key for key in ("rod_length", "steering_arm") if getattr(self.car, key) is None]
        if missing:
            hint = "must be given where there are no readings"
            yield from (Fault(f"car.{key}", hint) for key in missing)


class ShimWorth(Fact):
    """What a height of outer drop or rack raise is worth: a slope, to first order.

    `arms` say which way it turns the curve, None where that is not known.
    """

    units: Units
    height_mm: float
    slope_deg_per_10mm: float
    slope_in_per_in: float
    arms: Arms | None


class WorthResult(Answer):
    """The answer of `gauge` for lengths alone."""

    format: Literal[2] = 2
    subject: Subject
    worth: list[SerializeAsAny[ShimWorth]]
    cautions: list[Caution]
