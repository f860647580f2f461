"""What a stack at the outer pivot may be built from: a range, or the pieces of a shelf."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import AfterValidator, Field, ValidationInfo

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel, file_units
from optimizer.models.quantities import (
    FARTHEST_MM,
    NOT_EMPTY,
    Adjustment,
    Count,
    Direction,
    Number,
    PositiveLength,
    above_zero,
    between_mm,
)
from optimizer.units import MM_PER, Units, length_text

MOST_STEPS = 100_000
ROUNDING_MM = 1e-9  # of lengths that were written as decimals


class HeightRange(FrozenModel):
    """Heights from a lowest to a tallest one. [mm]."""

    min: Adjustment
    """lowest"""
    max: Adjustment
    """tallest"""
    step: PositiveLength | None = None
    """From one height to the next. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.max < self.min:
            got = f"{length_text(self.max, units)} and {length_text(self.min, units)}"
            yield Fault("max", f"must not be below min, got {got}\n(swapped?)")
        if self.step is not None and self.step - ROUNDING_MM > self.max - self.min > 0.0:
            got = f"{length_text(self.step, units)} from {length_text(self.min, units)}"
            yield Fault(
                "step", f"must not go beyond max, got {got}\n(is a digit, or its unit, wrong?)"
            )
        steps = 0.0 if self.step is None else (self.max - self.min) / self.step
        if steps >= MOST_STEPS + 0.5:
            message = f"must divide max - min into at most {MOST_STEPS} steps, got {steps:.0f}"
            yield Fault("step", f"{message}\n(hundredths of a millimeter are fine enough)")


class Stack(HeightRange):
    """Heights that the outer pivot's stack may have, from the standard seat. [mm]."""

    min: Adjustment = 0.0
    """Lowest stack; below 0 the joint has moved to the arm's other side. [mm]"""
    max: Adjustment
    """tallest stack"""
    step: PositiveLength | None = None
    """From one height to the next; left out where a shelf lists the pieces. [mm]"""


class OuterPivot(FrozenModel):
    """The outer pivot's stud and the stack on it."""

    stud_axis: Direction = (0.0, 0.0, -1.0)
    """The way a thicker stack moves the pivot."""
    stack: Stack | None = None
    """Left out where the outer pivot stays, or where only the shelf limits it."""


def _in_own_units(thickness: float, info: ValidationInfo) -> float:
    own: Units | None = info.data.get("units")
    return thickness * MM_PER[file_units(info) if own is None else own]


THINNEST_MM = 1e-3  # thinner than any foil; stacks are counted in whole picometers

Thickness = Annotated[
    Number,
    AfterValidator(above_zero),
    AfterValidator(_in_own_units),
    between_mm(THINNEST_MM, FARTHEST_MM),
]


class Shim(FrozenModel):
    """Shims of one thickness."""

    units: Annotated[Units | None, Field(exclude=True)] = None
    """Unit of `thickness` as typed, where it is not the file's."""
    thickness: Thickness
    """of one shim"""
    count: Count
    """how many of them there are for one wheel"""


class SolidSpacer(HeightRange):
    """One spacer, turned to the height that is asked for."""

    min: PositiveLength
    """lowest that can be made"""
    max: PositiveLength
    """tallest that can be made"""
    step: PositiveLength | None = None
    """How finely heights are told apart; 0.1 mm, or 0.005 in for a case in inches. [mm]"""


class Shelf(FrozenModel):
    """Pieces from which a stack can be built."""

    shims: Annotated[tuple[Shim, ...], NOT_EMPTY, Field(validate_default=False)] = ()
    """a list such as [{ thickness = 1.0, count = 4 }]"""
    solid_spacer: SolidSpacer | None = None
    """One solid spacer made to order, alone or with shims; counts as one piece."""
    most_pieces: Annotated[Count, AfterValidator(above_zero)] | None = None
    """How many pieces a stack may have."""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if not self.shims and self.solid_spacer is None:
            shims = type(self).meaning_of("shims")
            yield Fault("shims", f"must be given\n({shims})")


def step_faults(stack: Stack | None, shelf: Shelf | None) -> Iterator[Fault]:
    """Find fault with heights that both a step and a shelf decide, or neither."""
    if stack is None:
        return
    if stack.step is not None and shelf is not None:
        message = "must be left out where [shelf] lists the pieces"
        hint = "(the shelf decides which heights there are; min and max stay as limits)"
        yield Fault("stack.step", f"{message}\n{hint}")
    if stack.step is None and shelf is None:
        message = "must be given where there is no [shelf]"
        yield Fault("stack.step", f"{message}\n(from one height to the next)")
