"""Parts that the tie rod and its outer joint may touch, as they are measured in the workshop."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import (
    BeforeValidator,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
)

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel, file_units, quoted, refuse
from optimizer.models.point_faults import coincident, no_arm
from optimizer.models.quantities import (
    NOT_EMPTY,
    Count,
    Direction,
    Length,
    LengthFromZero,
    Name,
    Point,
    PositiveLength,
    PositiveNumber,
)
from optimizer.units import Units, length_text

HOW_TO_MEASURE_A_BARREL = (
    "(fit the wheel, lay a straightedge across the inboard lip, and take the\n"
    "inside diameter with a caliper at the lip, depth 0, and at the depths\n"
    "where joint and rod run, over humps and balance weights:\n"
    "barrel = [{ depth = 0.0, inside_diameter = ... }, ...])"
)


class Part(FrozenModel):
    """Something that the rod and the outer joint must not touch."""

    gap: LengthFromZero = 0.0
    """Free gap wanted. [mm]"""


def _no_width(inboard: float, outboard: float, units: Units) -> Iterator[Fault]:
    if inboard >= outboard:
        got = f"{length_text(inboard, units)} and {length_text(outboard, units)}"
        hint = "(both count from the wheel center, outboard positive)"
        yield Fault("inboard", f"must be less than outboard, got {got}\n{hint}")


class BarrelStation(FrozenModel):
    """A place inside the barrel where its diameter was measured."""

    depth: LengthFromZero
    """from a straightedge across the inboard lip, along the axle"""
    inside_diameter: PositiveLength
    """inside diameter of the barrel at that depth"""


class Rim(Part):
    """The barrel of the rim, seen from inside: one diameter between two edges, or several by depth.

    Between two depths the barrel is taken as narrow as the narrower of the two.
    """

    kind: Literal["rim"] = "rim"
    name: Name = "rim"
    nominal_diameter: PositiveNumber | None = None
    """Size that the rim is sold by, in inches; says nothing about the room inside."""
    barrel: tuple[BarrelStation, ...] | None = None
    """Inside diameters by depth, instead of one `inside_diameter` and `outboard`."""
    inside_diameter: PositiveLength | None = None
    """of the barrel, at its narrowest between the two stations"""
    inboard: Length
    """station of its inboard lip along the axle, from the wheel center, outboard positive"""
    outboard: Length | None = None
    """station of its outboard edge along the axle, from the wheel center, outboard positive"""

    @field_validator("barrel")
    @classmethod
    def _depths_rise_from_the_lip(
        cls, barrel: tuple[BarrelStation, ...] | None, info: ValidationInfo
    ) -> tuple[BarrelStation, ...] | None:
        if barrel is None:
            return None
        if len(barrel) < 2:
            raise ValueError(f"must hold at least two depths\n{HOW_TO_MEASURE_A_BARREL}")
        depths = [station.depth for station in barrel]
        got = [length_text(depth, file_units(info)) for depth in depths]
        found = [
            Fault(f"[{i}].depth", f"must be more than the depth before it, got {got[i - 1]}")
            for i, (one, next_one) in enumerate(pairwise(depths), start=2)
            if next_one <= one
        ]
        if depths[0] != 0.0:
            message = f"must be 0, at the lip itself, got {got[0]}"
            found.insert(0, Fault("[1].depth", message))
        refuse(found)
        return barrel

    @field_validator("inside_diameter")
    @classmethod
    def _inside_is_measured(cls, diameter: float | None, info: ValidationInfo) -> float | None:
        if "barrel" not in info.data:
            return diameter
        if info.data["barrel"] is not None:
            if diameter is not None:
                raise ValueError("must be left out where barrel is given")
        elif diameter is None:
            nominal = info.data.get("nominal_diameter")
            why = "" if nominal is None else f": the nominal {nominal:g} tells no gap"
            raise ValueError(f"must be given, or a barrel{why}\n{HOW_TO_MEASURE_A_BARREL}")
        return diameter

    @field_validator("outboard")
    @classmethod
    def _outboard_is_stated_once(cls, outboard: float | None, info: ValidationInfo) -> float | None:
        if "barrel" not in info.data:
            return outboard
        if info.data["barrel"] is None and outboard is None:
            raise ValueError(f"must be given\n({cls.meaning_of('outboard')})")
        if info.data["barrel"] is not None and outboard is not None:
            hint = "(its last depth is the outboard edge)"
            raise ValueError(f"must be left out where barrel is given\n{hint}")
        return outboard

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.outboard is not None:
            yield from _no_width(self.inboard, self.outboard, units)

    @property
    def profile(self) -> tuple[list[float], list[float]]:
        """Stations along the axle, from the wheel center, and the inside diameter at each. [mm]."""
        if self.barrel is not None:
            stations = [self.inboard + station.depth for station in self.barrel]
            return stations, [station.inside_diameter for station in self.barrel]
        assert self.outboard is not None  # the validators see to both
        assert self.inside_diameter is not None
        return [self.inboard, self.outboard], [self.inside_diameter] * 2


class Disc(Part):
    """The brake disc, as a solid cylinder about the axle."""

    kind: Literal["disc"] = "disc"
    name: Name = "brake disc"
    diameter: PositiveLength
    """of the disc, or of its shield"""
    inboard: Length
    """station of its inboard face along the axle, from the wheel center, outboard positive"""
    outboard: Length
    """station of its outboard face along the axle, from the wheel center, outboard positive"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from _no_width(self.inboard, self.outboard, units)


class LowerArm(Part):
    """The lower arm, as tubes from both inner pivots to the lower ball joint."""

    kind: Literal["lower-arm"] = "lower-arm"
    name: Name = "lower arm"
    diameter: PositiveLength
    """of each leg of the arm, across its widest place"""


class SuspensionLinks(Part):
    """The links that hold the upright or the axle, as round bars from joint to joint."""

    kind: Literal["suspension-links"] = "suspension-links"
    name: Name = "suspension links"
    diameter: PositiveLength
    """of the links, across their widest place"""
    numbers: Annotated[tuple[Count, ...], NOT_EMPTY] | None = None
    """Which links these are, counted as among the points; all if left out."""


class Leaves(Part):
    """The leaf spring of the side and its shackle, as round bars that follow its bending."""

    kind: Literal["leaf-spring"] = "leaf-spring"
    name: Name = "leaf spring"
    diameter: PositiveLength
    """of a round bar that stands for the pack of leaves: as wide as it, or as thick if more"""


class Tube(Part):
    """Anything that a round bar can stand for, and that moves with one part of the car."""

    kind: Literal["tube"] = "tube"
    name: Name = "tube"
    fixed_to: Literal["chassis", "upright", "lower-arm", "axle"]
    """what carries it, "chassis", "upright" or "lower-arm" (or "axle"), so that it moves along"""
    start: Point
    """one end of its center line, as measured"""
    end: Point
    """the other end of its center line, as measured"""
    diameter: PositiveLength
    """of the bar"""


def _two_points(typed: object) -> object:
    if not isinstance(typed, list | tuple) or len(typed) != 2:
        raise ValueError(f"must be two points [[x, y, z], [x, y, z]], got {quoted(typed)}")
    return typed


class Link(Part):
    """The drop link of an anti-roll bar, from what carries its start to the end of the bar.

    The bar turns about a line in the chassis and takes the other end of the link along.
    """

    kind: Literal["link"] = "link"
    name: Name = "anti-roll bar link"
    fixed_to: Literal["upright", "lower-arm"]
    """what carries its start, "upright" (strut, knuckle) or "lower-arm" """
    start: Point
    """center of its joint on the strut, knuckle or arm, as measured"""
    end: Point
    """center of its joint at the end of the anti-roll bar, as measured"""
    bar_axis: Annotated[tuple[Point, Point], BeforeValidator(_two_points)]
    """two points of the line about which the bar turns in its bushings, as measured"""
    diameter: PositiveLength
    """of the link"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        line = dict(zip(("bar_axis[1]", "bar_axis[2]"), self.bar_axis, strict=True))
        yield from coincident({"start": self.start, "end": self.end}, units)
        yield from coincident(line, units)
        yield from no_arm({"end": self.end, **line}, "end", ("bar_axis[1]", "bar_axis[2]"), units)


class Plane(Part):
    """A flat face of the chassis without an end, such as the side of a frame rail."""

    kind: Literal["plane"] = "plane"
    name: Name = "frame rail"
    fixed_to: Literal["chassis"] = "chassis"
    """What carries it: "chassis"."""
    point: Point
    """any point of the face, as measured"""
    free_side: Direction
    """direction square to the face, out of the metal: [0, 0, -1] for the underside of a rail"""


Kind = type[Rim | Disc | LowerArm | SuspensionLinks | Leaves | Tube | Link | Plane]

KINDS: dict[str, Kind] = {
    "rim": Rim,
    "disc": Disc,
    "lower-arm": LowerArm,
    "suspension-links": SuspensionLinks,
    "leaf-spring": Leaves,
    "tube": Tube,
    "link": Link,
    "plane": Plane,
}


def _of_its_kind(typed: Any, _: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
    """Read an obstacle as its own kind alone: as every other, it would only be refused."""
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


Obstacle = Annotated[
    Rim | Disc | LowerArm | SuspensionLinks | Leaves | Tube | Link | Plane,
    WrapValidator(_of_its_kind),
]
