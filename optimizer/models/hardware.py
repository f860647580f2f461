"""What is bolted on, or could be: stacks and shims, rack spacers, ball-joint extensions."""

from typing import Annotated, Any, Literal, Self

from pydantic import (
    BeforeValidator,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    model_validator,
)

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel
from optimizer.models.quantities import (
    Adjustment,
    Count,
    Direction,
    PositiveLength,
    Stroke,
    file_units,
)
from optimizer.units import length_text

MOST_STEPS = 100_000


def _not_empty(typed: object) -> object:
    if typed in ([], ()):
        raise ValueError("must not be empty")
    return typed


NOT_EMPTY = BeforeValidator(_not_empty)


class Steering(FrozenModel):
    """The rack, and where its arms are."""

    rack_travel: Stroke = 0.0
    """From straight ahead to lock. [mm]"""
    rack_axis: Direction = (0.0, 1.0, 0.0)
    """Along the rack."""
    arms: Literal["ahead", "behind"] | None = None
    """Where the steering arms are said to be, relative to the axle."""


class Stack(FrozenModel):
    """Heights that the outer pivot's stack may have, from the standard seat. [mm]."""

    min: Adjustment = 0.0
    """Lowest stack; below 0 the joint has moved to the arm's other side. [mm]"""
    max: Adjustment
    """tallest stack"""
    step: PositiveLength | None = None
    """From one height to the next; left out where a shelf lists the pieces. [mm]"""

    @model_validator(mode="after")
    def _range_is_a_range(self, info: ValidationInfo) -> Self:
        units = file_units(info)
        if self.max < self.min:
            got = f"{length_text(self.max, units)} and {length_text(self.min, units)}"
            raise FaultList([Fault("max", f"must not be below min, got {got}\n(swapped?)")])
        steps = 0.0 if self.step is None else (self.max - self.min) / self.step
        if steps > MOST_STEPS:
            message = f"must divide max - min into at most {MOST_STEPS} steps, got {steps:.0f}"
            raise FaultList(
                [Fault("step", f"{message}\n(hundredths of a millimeter are fine enough)")]
            )
        return self


class OuterPivot(FrozenModel):
    """The outer pivot's stud and the stack on it."""

    stud_axis: Direction = (0.0, 0.0, -1.0)
    """The way a thicker stack moves the pivot."""
    stack: Stack | None = None
    """Left out where the outer pivot stays, or where only the shelf limits it."""


class Shim(FrozenModel):
    """Shims of one thickness."""

    thickness: PositiveLength
    """of one shim"""
    count: Count
    """how many of them there are for one wheel"""


class Shelf(FrozenModel):
    """Pieces from which a stack can be built."""

    shims: Annotated[tuple[Shim, ...], NOT_EMPTY]
    """a list such as [{ thickness = 1.0, count = 4 }]"""


class Rack(FrozenModel):
    """Spacers that raise the rack, or lower it where negative."""

    spacers: Annotated[tuple[Adjustment, ...], NOT_EMPTY] = (0.0,)
    """Rack raise of each choice. [mm]"""

    @model_validator(mode="after")
    def _no_choice_twice(self, info: ValidationInfo) -> Self:
        raise_if_repeated("spacers", self.spacers, info)
        return self


def _one_or_more(typed: object, handler: ValidatorFunctionWrapHandler) -> Any:
    """Take a number for a list of one, and keep the list out of its messages."""
    if isinstance(typed, list | tuple):
        return handler(typed)
    try:
        return handler([typed])
    except ValidationError as error:
        raise ValueError(str(error.errors()[0]["ctx"]["error"])) from None


class LowerBallJoint(FrozenModel):
    """Extension of the lower ball joint: a longer stud or a spacer."""

    drop: Annotated[tuple[Adjustment, ...], NOT_EMPTY, WrapValidator(_one_or_more)] = (0.0,)
    """How far the joint sits below its standard place; the first is what the car has now. [mm]"""

    @model_validator(mode="after")
    def _no_choice_twice(self, info: ValidationInfo) -> Self:
        raise_if_repeated("drop", self.drop, info)
        return self


def raise_if_repeated(key: str, lengths: tuple[float, ...], info: ValidationInfo) -> None:
    """Find fault with a length that a list holds twice."""
    found = [
        Fault(
            f"{key}[{i + 1}]", f"must be listed once, got {length_text(x, file_units(info))} twice"
        )
        for i, x in enumerate(lengths)
        if x in lengths[:i]
    ]
    if found:
        raise FaultList(found)
