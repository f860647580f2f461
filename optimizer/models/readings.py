"""A readings file: what a gauge showed at each wheel travel, and how it was set up.

All lengths are in millimeters once read, also where the file's units are inches.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel, number, quoted
from optimizer.models.case import Aim, Display
from optimizer.models.quantities import (
    Adjustment,
    Name,
    PositiveLength,
    PositiveNumber,
    Stroke,
    in_millimeters,
)
from optimizer.units import Units

Kind = Literal[
    "two-dial", "dial-and-roller", "single-dial", "laser", "mirror", "string", "toe-plates", "angle"
]
Grows = Literal["outboard", "inboard", "toe-in", "toe-out"]

COLUMNS: dict[str, tuple[str, ...]] = {
    "two-dial": ("travel", "front", "rear"),
    "dial-and-roller": ("travel", "dial"),
    "single-dial": ("travel", "dial"),
    "laser": ("travel", "spot"),
    "mirror": ("travel", "spot"),
    "string": ("travel", "front", "rear"),
    "toe-plates": ("travel", "front", "rear"),
    "angle": ("travel", "toe"),
}
NEEDED: dict[str, tuple[str, ...]] = {
    "two-dial": ("spacing", "reading_grows"),
    "dial-and-roller": ("spacing", "reading_grows", "dial_at"),
    "single-dial": ("dial_distance", "reading_grows", "dial_at"),
    "laser": ("reading_grows",),
    "mirror": ("target_ahead", "reading_grows"),
    "string": ("spacing", "reading_grows"),
    "toe-plates": ("spacing",),
    "angle": (),
}


def _rows(typed: Any, info: ValidationInfo) -> tuple[tuple[float, ...], ...]:
    """Take rows of numbers, lengths scaled; every faulty row is named."""
    if not isinstance(typed, list | tuple):
        raise ValueError(f"must be a list of rows, got {quoted(typed)}")
    angle = info.data.get("kind") == "angle"
    rows, found = [], []
    for place, row in enumerate(typed, start=1):
        try:
            if not isinstance(row, list | tuple):
                raise ValueError(f"must be a list of numbers, got {quoted(row)}")
            values = [number(value) for value in row]
        except ValueError as error:
            found.append(Fault(f"[{place}]", str(error)))
            continue
        lengths = 1 if angle else len(values)
        rows.append((*(in_millimeters(x, info) for x in values[:lengths]), *values[lengths:]))
    if found:
        raise FaultList(found)
    return tuple(rows)


class MeasuredCar(FrozenModel):
    """Two lengths and a word that turn a slope into shims where no points are known."""

    rod_length: PositiveLength | None = None
    """Tie rod, joint to joint, seen from the front. [mm]"""
    steering_arm: PositiveLength | None = None
    """From the steering axis to the outer pivot, seen from above. [mm]"""
    arms: Literal["ahead", "behind"] | None = None
    """Where the steering arms point, relative to the axle."""
    tire_diameter: PositiveLength | None = None
    """Outside diameter of the tire. [mm]"""


class Readings(FrozenModel):
    """One sweep of one wheel."""

    format: Literal[1]
    """format = 1, the only one that this version reads"""
    units: Units
    """"mm" or "in", for every length in the file"""
    kind: Kind
    """how toe was read: two-dial, dial-and-roller, laser, mirror, string, toe-plates or angle"""
    name: Name = "readings"
    """A line of text that names the sweep."""
    side: Literal["left", "right"] | None = None
    """Wheel that was swept; the case's own if left out."""
    outer_drop: Adjustment = 0.0
    """Stack that was fitted, from the standard seat. [mm]"""
    rack_raise: Adjustment = 0.0
    """Rack spacer that was fitted. [mm]"""
    ball_joint_drop: Adjustment | None = None
    """Ball-joint extension that was fitted; the case's first if left out. [mm]"""
    spacing: PositiveLength | None = None
    """distance between the two places where the gauge reads: dials, roller, string or tape ends"""
    dial_distance: PositiveLength | None = None
    """distance of the single dial from the wheel's axle, along the car"""
    dial_at: Literal["front", "rear"] | None = None
    """"front" or "rear" of the axle, where the dial stands"""
    target_ahead: PositiveLength | None = None
    """distance from the wheel's axle to the target ahead"""
    target_behind: PositiveLength | None = None
    """Distance from the wheel's axle to the target behind. [mm]"""
    reading_grows: Grows | None = None
    """"outboard" or "inboard", the way the touched place moves when the reading grows"""
    angle_unit: Literal["deg", "min"] = "deg"
    """Unit of toe where kind is "angle"."""
    total: bool = False
    """Whether angle or distance is of both wheels together."""
    revolution: PositiveLength | None = None
    """Length of one turn of the dial's hand; given, turns that went uncounted are counted. [mm]"""
    noise: PositiveNumber | None = None
    """One standard deviation of a reading, in the reading's own unit; estimated if left out."""
    travel_is: Literal["travel", "hub-to-arch", "hub-to-floor"] = "travel"
    """What the first number of a row is."""
    at_ride_height: PositiveLength | None = None
    """what hub-to-arch or hub-to-floor shows at ride height"""
    used: tuple[Stroke, Stroke] | None = None
    """Bump and droop that the car uses, for readings without a case. [mm]"""
    car: MeasuredCar = MeasuredCar()
    """Lengths for readings without a case."""
    aim: Aim | None = None
    """Wanted curve, for readings without a case."""
    display: Display = Display()
    """How reports state toe."""
    readings: Annotated[tuple[tuple[float, ...], ...], BeforeValidator(_rows), Field(min_length=3)]
    """rows of numbers: travel first, then what the gauge showed"""

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the numbers in a row."""
        if self.kind == "laser" and self.target_ahead and self.target_behind:
            return ("travel", "ahead", "behind")
        return COLUMNS[self.kind]

    @model_validator(mode="after")
    def _gauge_can_be_read(self) -> Self:
        found = [
            Fault(key, f'must be given where kind is "{self.kind}"') for key in self._missing()
        ]
        wanted = self.columns
        found += [
            Fault(f"readings[{place}]", f"must be [{', '.join(wanted)}], got {len(row)} numbers")
            for place, row in enumerate(self.readings, start=1)
            if len(row) != len(wanted)
        ]
        if len({row[0] for row in self.readings if row}) < 3:
            found.append(Fault("readings", "must be at three different heights or more"))
        if found:
            raise FaultList(found)
        return self

    def _missing(self) -> list[str]:
        missing = [key for key in NEEDED[self.kind] if getattr(self, key) is None]
        if self.kind == "laser" and self.target_ahead is None and self.target_behind is None:
            missing.append("target_ahead")
        if self.travel_is != "travel" and self.at_ride_height is None:
            missing.append("at_ride_height")
        return missing
