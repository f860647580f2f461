"""What is bolted on, or could be, beside the stack: rack, extensions, plates, spacers, brackets."""

import math
from collections.abc import Iterator
from itertools import product
from typing import Annotated, Any, Literal

from msgspec import Struct
from msgspec.structs import asdict, astuple
from pydantic import (
    AfterValidator,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
)

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel, file_units, quoted, refuse
from optimizer.models.quantities import (
    NOT_EMPTY,
    Adjustment,
    Direction,
    PositiveLength,
    Stroke,
    Triple,
)
from optimizer.models.vocabulary import STEERED, SteeringKind
from optimizer.units import Units, length_text

MOST_LINKAGES = 400  # each choice of the linkage itself is solved anew


def _none_twice(lengths: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
    refuse(
        Fault(f"[{i + 1}]", f"must be listed once, got {length_text(x, file_units(info))} twice")
        for i, x in enumerate(lengths)
        if x in lengths[:i]
    )
    return lengths


Adjustments = Annotated[tuple[Adjustment, ...], AfterValidator(_none_twice)]
Choices = Annotated[Adjustments, NOT_EMPTY]


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
    check_at: Adjustments | None = None
    """Rack travels at which the toe curve is told too; halfway to both locks if left out. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        lock = self.rack_travel
        least, most = (length_text(x, units) for x in (-lock, lock))
        for k, travel in enumerate(self.check_at or (), start=1):
            if abs(travel) > lock > 0.0:
                yield Fault(
                    f"check_at[{k}]",
                    f"must be between {least} and {most}, the {STEERED[self.kind].inner}'s locks, "
                    f"got {length_text(travel, units)}",
                )


class Rack(FrozenModel):
    """Spacers that raise the rack, or lower it where negative, and those that move it fore and aft.

    Of a center link this is its height at pitman and idler, of a rear toe link its inner bracket's.
    """

    spacers: Choices = (0.0,)
    """Raise of each choice. [mm]"""
    fore_aft: Choices = (0.0,)
    """Move of each choice along the car, forward positive. [mm]"""
    tilt: Choices = (0.0,)
    """How much higher each choice sets the left mount than the right one; the first is what the car
    has now, and raises count at the middle of the car. [mm]"""
    mounts: PositiveLength | None = None
    """Distance of the rack's left mount from its right one; a tilt can't do without it. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.mounts is None and any(self.tilt):
            message = "must be given where tilt is\n(from the rack's left mount to its right one)"
            yield Fault("mounts", message)

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


Raises = Annotated[Choices, WrapValidator(_one_or_more)]


class LowerBallJoint(FrozenModel):
    """Extension of the lower ball joint: a longer stud or a spacer."""

    drop: Raises = (0.0,)
    """How far the joint sits below its standard place; the first is what the car has now. [mm]"""
    stud_axis: Direction = (0.0, 0.0, -1.0)
    """The way an extension moves the joint in the upright."""

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from too_many("drop", len(self.drop), "drops")


class LinkageChoice(Struct, frozen=True):
    """What may be chosen of the linkage: extension, plate, spacer, tilt and the like. [mm]."""

    ball_joint_drop: float = 0.0
    frame_bracket_raise: float = 0.0
    axle_bracket_raise: float = 0.0
    knuckle_plate: float = 0.0
    crossmember_spacer: float = 0.0
    rack_tilt: float = 0.0
    lift_block: float = 0.0
    shackle_longer: float = 0.0

    @property
    def named(self) -> dict[str, float]:
        """As results name it. [mm]."""
        return {f"{name}_mm": length for name, length in asdict(self).items()}

    def change_from(self, other: "LinkageChoice") -> float:
        """How far joint or brackets are moved from another choice, all added up. [mm]."""
        return math.fsum(abs(a - b) for a, b in zip(astuple(self), astuple(other), strict=True))


class LateralLink(FrozenModel):
    """Heights of a beam axle's lateral link's brackets, from where they were measured.

    The link is set to the length that leaves the axle where it was measured, at that height.
    """

    number: Literal[1, 2, 3, 4] | None = None
    """Which of the four links it is; the one that lies most across the car if left out."""
    frame_bracket: Raises = (0.0,)
    """Raise of each choice at the frame, from the points; the first is that of the car now. [mm]"""
    axle_bracket: Raises = (0.0,)
    """Raise of each choice at the axle, from the points; the first is that of the car now. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from too_many("axle_bracket", len(self.pairs), "pairs of heights with frame_bracket")

    @property
    def pairs(self) -> tuple[tuple[float, float], ...]:
        """Every choice of frame and axle bracket; the first is what the car has. [mm]."""
        return tuple(product(self.frame_bracket, self.axle_bracket))


def too_many(key: str, count: int, choices: str) -> Iterator[Fault]:
    """Find fault with lists that make more linkages than can be solved in a while."""
    if count > MOST_LINKAGES:
        message = f"must give at most {MOST_LINKAGES} {choices}, got {count}"
        yield Fault(key, f"{message}\n(list what can be had, or go in larger steps)")


class LeafSpring(FrozenModel):
    """Lift blocks and shackles to choose from, alike on both springs, from what was measured."""

    lift_block: Raises = (0.0,)
    """How much higher each choice stands the spring on the axle; the first is there now. [mm]"""
    shackle_longer: Raises = (0.0,)
    """How much longer each choice of shackle is; the first is there now. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from too_many("shackle_longer", len(self.choices), "pairs with lift_block")

    @property
    def choices(self) -> tuple[LinkageChoice, ...]:
        """Every choice of block and shackle; the first is what the car has."""
        pairs = product(self.lift_block, self.shackle_longer)
        return tuple(LinkageChoice(lift_block=up, shackle_longer=by) for up, by in pairs)


class KnucklePlate(FrozenModel):
    """A plate between strut foot and steering arm: ball joint and rod eye go down together."""

    thickness: Raises = (0.0,)
    """Thickness of each choice, none where 0; the first is what the car has now. [mm]"""


class Crossmember(FrozenModel):
    """Spacers between crossmember and body: the lower arms' inner pivots go down with it."""

    spacer: Raises = (0.0,)
    """Height of each choice, none where 0; the first is what the car has now. [mm]"""
    carries_rack: bool = True
    """Whether the rack sits on the crossmember and goes down too."""
