"""What may stop an adjustment: joints that bind, and parts that the rod may touch."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, StrictBool, ValidationInfo, model_validator

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel, quoted
from optimizer.models.quantities import (
    Direction,
    Length,
    LengthFromZero,
    Name,
    Point,
    PositiveLength,
    TiltAngle,
    file_units,
)
from optimizer.units import length_text


class TiltLimit(FrozenModel):
    """How far a ball joint may tilt: the maker's figure, or dimensions to find it from.

    With neither, the tilt is not limited.
    """

    tilt_limit_deg: TiltAngle | None = None
    """The maker's permissible tilt, to either side. [deg]"""
    ball_width: PositiveLength | None = None
    """width of the ball between its faces"""
    race_width: PositiveLength | None = None
    """width of the race that the ball sits in"""
    ball_diameter: PositiveLength | None = None
    """diameter of the ball"""
    neck_diameter: PositiveLength | None = None
    """Only where nothing wider stands against the ball: of the pin, or of a coned spacer's neck."""

    @model_validator(mode="after")
    def _limit_can_be_found(self, info: ValidationInfo) -> Self:
        sizes = {
            "ball_width": self.ball_width,
            "race_width": self.race_width,
            "ball_diameter": self.ball_diameter,
        }
        stated = [name for name, size in sizes.items() if size is not None]
        if self.neck_diameter is not None:
            stated.append("neck_diameter")
        if self.tilt_limit_deg is not None and stated:
            raise FaultList(
                [Fault(name, "must be left out where tilt_limit_deg is given") for name in stated]
            )
        missing = [name for name, size in sizes.items() if size is None]
        if stated and missing:
            raise FaultList(
                [Fault(name, f"must be given along with {stated[0]}") for name in missing]
            )
        self._raise_unless_the_ball_fits(info)
        return self

    def _raise_unless_the_ball_fits(self, info: ValidationInfo) -> None:
        ball, width, race = self.ball_diameter, self.ball_width, self.race_width
        if ball is None or width is None or race is None:
            return
        pairs = [
            ("race_width", race, "ball_width", width),
            ("ball_width", width, "ball_diameter", ball),
        ]
        if self.neck_diameter is not None:
            room = (ball**2 - race**2) ** 0.5 if race < ball else 0.0
            pairs.append(("neck_diameter", self.neck_diameter, "the opening of the race", room))
        units = file_units(info)
        found = [
            Fault(
                key,
                f"must be less than {wider}, got {length_text(size, units)} and "
                f"{length_text(limit, units)}",
            )
            for key, size, wider, limit in pairs
            if size >= limit
        ]
        if found:
            raise FaultList(found)


class OuterJoint(TiltLimit):
    """The joint at the steering arm."""

    bolt_axis: Direction | None = None
    """Along the bolt through its ball; along the stud axis if left out."""


class Joint(FrozenModel):
    """The tie rod and the joints at its ends; 0 for a size that is not stated."""

    rod_diameter: LengthFromZero = 0.0
    """Of the rod or its sleeve, whichever is thicker. [mm]"""
    housing_diameter: LengthFromZero = 0.0
    """Of the outer joint's housing, across the bolt. [mm]"""
    housing_height: LengthFromZero = 0.0
    """Of the outer joint's housing, along the bolt. [mm]"""
    rod_turns: StrictBool = True
    """Whether the rod can turn about its own line, so that the housing follows the bolt."""
    outer: OuterJoint = OuterJoint()
    """Limit of the outer joint."""
    inner: TiltLimit = TiltLimit()
    """Limit of the inner joint."""


class Part(FrozenModel):
    """Something that the rod and the outer joint must not touch."""

    gap: LengthFromZero = 0.0
    """Free gap wanted. [mm]"""


class _Ring(Part):
    inboard: Length
    """station of its inboard edge along the axle, from the wheel center, outboard positive"""
    outboard: Length
    """station of its outboard edge along the axle, from the wheel center, outboard positive"""

    @model_validator(mode="after")
    def _has_a_width(self, info: ValidationInfo) -> Self:
        if self.inboard >= self.outboard:
            units = file_units(info)
            got = f"{length_text(self.inboard, units)} and {length_text(self.outboard, units)}"
            raise FaultList(
                [
                    Fault(
                        "inboard",
                        f"must be less than outboard, got {got}\n"
                        "(both count from the wheel center, outboard positive)",
                    )
                ]
            )
        return self


class Rim(_Ring):
    """The barrel of the rim, seen from inside."""

    kind: Literal["rim"] = "rim"
    name: Name = "rim"
    inside_diameter: PositiveLength
    """of the barrel, at its narrowest between the two stations"""


class Disc(_Ring):
    """The brake disc, as a solid cylinder about the axle."""

    kind: Literal["disc"] = "disc"
    name: Name = "brake disc"
    diameter: PositiveLength
    """of the disc, or of its shield"""


class LowerArm(Part):
    """The lower arm, as tubes from both inner pivots to the lower ball joint."""

    kind: Literal["lower-arm"] = "lower-arm"
    name: Name = "lower arm"
    diameter: PositiveLength
    """of each leg of the arm, across its widest place"""


class Tube(Part):
    """Anything that a round bar can stand for, fixed in the chassis or in the upright."""

    kind: Literal["tube"] = "tube"
    name: Name = "tube"
    fixed_to: Literal["chassis", "upright"]
    """what carries it, "chassis" or "upright", so that it moves along"""
    start: Point
    """one end of its center line, as measured"""
    end: Point
    """the other end of its center line, as measured"""
    diameter: PositiveLength
    """of the bar"""


KINDS: dict[str, type[Rim | Disc | LowerArm | Tube]] = {
    "rim": Rim,
    "disc": Disc,
    "lower-arm": LowerArm,
    "tube": Tube,
}


def _of_its_kind(typed: Any, info: ValidationInfo) -> Any:
    if isinstance(typed, Part):
        return typed
    if not isinstance(typed, dict):
        raise ValueError(f"must be a table, got {quoted(typed)}")
    kind = typed.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        kinds = ", ".join(f'"{name}"' for name in KINDS)
        got = f", got {quoted(kind)}" if "kind" in typed else ""
        raise FaultList([Fault("kind", f"must be one of {kinds}{got}")])
    return KINDS[kind].model_validate(typed, context=info.context)


Obstacle = Annotated[Rim | Disc | LowerArm | Tube, BeforeValidator(_of_its_kind)]
