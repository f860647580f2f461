"""What is bolted on, or could be: stacks and shims, rack spacers, ball-joint extensions."""

import math
from dataclasses import astuple, dataclass
from itertools import product
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    model_validator,
)

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel, quoted
from optimizer.models.quantities import (
    FARTHEST_MM,
    Adjustment,
    Count,
    Direction,
    Number,
    PositiveLength,
    Stroke,
    Triple,
    above_zero,
    between_mm,
    file_units,
)
from optimizer.models.vocabulary import STEERED, SteeringKind
from optimizer.units import MM_PER, Units, length_text

MOST_STEPS = 100_000
MOST_LINKAGES = 400  # each choice of the linkage itself is solved anew


def raise_unless_a_range(low: float, high: float, step: float | None, units: Units) -> None:
    """Find fault with a range that ends before it starts, or that has too many steps. [mm]."""
    if high < low:
        got = f"{length_text(high, units)} and {length_text(low, units)}"
        raise FaultList([Fault("max", f"must not be below min, got {got}\n(swapped?)")])
    steps = 0.0 if step is None else (high - low) / step
    if steps >= MOST_STEPS + 0.5:
        message = f"must divide max - min into at most {MOST_STEPS} steps, got {steps:.0f}"
        raise FaultList([Fault("step", f"{message}\n(hundredths of a millimeter are fine enough)")])


def _not_empty(typed: object) -> object:
    if typed in ([], ()):
        raise ValueError("must not be empty")
    return typed


NOT_EMPTY = BeforeValidator(_not_empty)


def _to_the_left(axis: Triple) -> Triple:
    if axis[1] < 0.0:
        raise ValueError(
            f"must point to the left, with y not below 0, got {quoted(list(axis))}\n"
            "(rack travel is positive to the left, so this would turn right and left round)"
        )
    return axis


class Steering(FrozenModel):
    """The rack or center link, and where the arms are."""

    kind: SteeringKind = "rack"
    """What the inner pivot sits in: a rack, or the center link of a steering box."""
    rack_travel: Stroke = 0.0
    """From straight ahead to lock. [mm]"""
    rack_axis: Annotated[Direction, AfterValidator(_to_the_left)] = (0.0, 1.0, 0.0)
    """Along the rack, the way of positive rack travel: to the left."""
    arms: Literal["ahead", "behind"] | None = None
    """Where the steering arms are said to be, relative to the axle."""
    check_at: tuple[Adjustment, ...] | None = None
    """Rack travels at which the toe curve is told too; halfway to both locks if left out. [mm]"""

    @model_validator(mode="after")
    def _checks_lie_within_the_locks(self, info: ValidationInfo) -> Self:
        lock = self.rack_travel
        raise_if_repeated("check_at", self.check_at or (), info)
        if lock > 0.0:
            least, most = (length_text(x, file_units(info)) for x in (-lock, lock))
            found = [
                Fault(
                    f"check_at[{k}]",
                    f"must be between {least} and {most}, the {STEERED[self.kind].inner}'s locks, "
                    f"got {length_text(travel, file_units(info))}",
                )
                for k, travel in enumerate(self.check_at or (), start=1)
                if abs(travel) > lock
            ]
            if found:
                raise FaultList(found)
        return self


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
        raise_unless_a_range(self.min, self.max, self.step, file_units(info))
        return self


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


class SolidSpacer(FrozenModel):
    """One spacer, turned to the height that is asked for."""

    min: PositiveLength
    """lowest that can be made"""
    max: PositiveLength
    """tallest that can be made"""
    step: PositiveLength | None = None
    """How finely heights are told apart; 0.1 mm, or 0.005 in for a case in inches. [mm]"""

    @model_validator(mode="after")
    def _range_is_a_range(self, info: ValidationInfo) -> Self:
        raise_unless_a_range(self.min, self.max, self.step, file_units(info))
        return self


class Shelf(FrozenModel):
    """Pieces from which a stack can be built."""

    shims: Annotated[tuple[Shim, ...], NOT_EMPTY, Field(validate_default=False)] = ()
    """a list such as [{ thickness = 1.0, count = 4 }]"""
    solid_spacer: SolidSpacer | None = None
    """One solid spacer made to order, alone or with shims; counts as one piece."""
    most_pieces: Annotated[Count, AfterValidator(above_zero)] | None = None
    """How many pieces a stack may have."""

    @model_validator(mode="after")
    def _holds_something(self) -> Self:
        if not self.shims and self.solid_spacer is None:
            shims = type(self).meaning_of("shims")
            raise FaultList([Fault("shims", f"must be given\n({shims})")])
        return self


def raise_unless_steps_or_shelf(stack: Stack | None, shelf: Shelf | None) -> None:
    """Find fault with heights that both a step and a shelf decide, or neither."""
    if stack is None:
        return
    if stack.step is not None and shelf is not None:
        message = "must be left out where [shelf] lists the pieces"
        hint = "(the shelf decides which heights there are; min and max stay as limits)"
        raise FaultList([Fault("stack.step", f"{message}\n{hint}")])
    if stack.step is None and shelf is None:
        message = "must be given where there is no [shelf]"
        raise FaultList([Fault("stack.step", f"{message}\n(from one height to the next)")])


class Rack(FrozenModel):
    """Spacers that raise the rack, or lower it where negative, and those that move it fore and aft.

    Of a center link this is its height at pitman and idler, of a rear toe link its inner bracket's.
    """

    spacers: Annotated[tuple[Adjustment, ...], NOT_EMPTY] = (0.0,)
    """Raise of each choice. [mm]"""
    fore_aft: Annotated[tuple[Adjustment, ...], NOT_EMPTY] = (0.0,)
    """Move of each choice along the car, forward positive. [mm]"""
    tilt: Annotated[tuple[Adjustment, ...], NOT_EMPTY] = (0.0,)
    """How much higher each choice sets the left mount than the right one; the first is what the car
    has now, and raises count at the middle of the car. [mm]"""
    mounts: PositiveLength | None = None
    """Distance of the rack's left mount from its right one; a tilt can't do without it. [mm]"""

    @model_validator(mode="after")
    def _no_choice_twice(self, info: ValidationInfo) -> Self:
        raise_if_repeated("spacers", self.spacers, info)
        raise_if_repeated("fore_aft", self.fore_aft, info)
        raise_if_repeated("tilt", self.tilt, info)
        if self.mounts is None and any(self.tilt):
            message = "must be given where tilt is\n(from the rack's left mount to its right one)"
            raise FaultList([Fault("mounts", message)])
        return self

    def slope(self, tilt: float) -> float:
        """How much the rack rises to the left with a tilt, per length across the car."""
        return 0.0 if self.mounts is None else tilt / self.mounts

    @property
    def places(self) -> tuple[tuple[float, float], ...]:
        """Every choice of raise and of move forward. [mm]."""
        return tuple(product(self.spacers, self.fore_aft))


def _one_or_more(typed: object, handler: ValidatorFunctionWrapHandler) -> Any:
    """Take a number for a list of one, and keep the list out of its messages."""
    if isinstance(typed, list | tuple):
        return handler(typed)
    try:
        return handler([typed])
    except ValidationError as error:
        raise ValueError(str(error.errors()[0]["ctx"]["error"])) from None


Raises = Annotated[tuple[Adjustment, ...], NOT_EMPTY, WrapValidator(_one_or_more)]


class LowerBallJoint(FrozenModel):
    """Extension of the lower ball joint: a longer stud or a spacer."""

    drop: Raises = (0.0,)
    """How far the joint sits below its standard place; the first is what the car has now. [mm]"""
    stud_axis: Direction = (0.0, 0.0, -1.0)
    """The way an extension moves the joint in the upright."""

    @model_validator(mode="after")
    def _no_choice_twice(self, info: ValidationInfo) -> Self:
        raise_if_repeated("drop", self.drop, info)
        _raise_if_too_many("drop", len(self.drop), "drops")
        return self


@dataclass(frozen=True)
class LinkageChoice:
    """What may be chosen of the linkage: extension, plate, spacer, tilt or brackets. [mm]."""

    ball_joint_drop: float = 0.0
    frame_bracket_raise: float = 0.0
    axle_bracket_raise: float = 0.0
    knuckle_plate: float = 0.0
    crossmember_spacer: float = 0.0
    rack_tilt: float = 0.0

    @property
    def named(self) -> dict[str, float]:
        """As results name it. [mm]."""
        return {f"{name}_mm": length for name, length in vars(self).items()}

    def change_from(self, other: "LinkageChoice") -> float:
        """How far joint or brackets are moved from another choice, all added up. [mm]."""
        return math.fsum(abs(a - b) for a, b in zip(astuple(self), astuple(other), strict=True))


class LateralLink(FrozenModel):
    """Heights of the lateral link's two brackets on a beam axle, raised from where they are now.

    The link is set to the length that leaves the axle where it was measured.
    """

    number: Literal[1, 2, 3, 4] | None = None
    """Which of the four links it is; the one that lies most across the car if left out."""
    frame_bracket: Raises = (0.0,)
    """Raise of each choice at the frame; the first is what the car has now. [mm]"""
    axle_bracket: Raises = (0.0,)
    """Raise of each choice at the axle; the first is what the car has now. [mm]"""

    @model_validator(mode="after")
    def _no_choice_twice(self, info: ValidationInfo) -> Self:
        raise_if_repeated("frame_bracket", self.frame_bracket, info)
        raise_if_repeated("axle_bracket", self.axle_bracket, info)
        _raise_if_too_many("axle_bracket", len(self.pairs), "pairs of heights with frame_bracket")
        return self

    @property
    def pairs(self) -> tuple[tuple[float, float], ...]:
        """Every choice of frame and axle bracket; the first is what the car has. [mm]."""
        return tuple(product(self.frame_bracket, self.axle_bracket))


def _raise_if_too_many(key: str, count: int, choices: str) -> None:
    """Find fault with lists that make more linkages than can be solved in a while."""
    if count > MOST_LINKAGES:
        message = f"must give at most {MOST_LINKAGES} {choices}, got {count}"
        raise FaultList([Fault(key, f"{message}\n(list what can be had, or go in larger steps)")])


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
