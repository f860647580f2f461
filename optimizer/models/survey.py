"""Survey files: what was read with tape, plumb line and level, from marks on the floor."""

import re
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from optimizer.errors import Fault
from optimizer.models.base import (
    FaultList,
    FrozenModel,
    as_empty,
    each_taken,
    file_units,
    number,
    quoted,
    unknown_key,
)
from optimizer.models.points import POINTS_OF_LAYOUT, Layout
from optimizer.models.quantities import (
    FARTHEST_MM,
    FormatOne,
    Name,
    PositiveLength,
    PositiveNumber,
    between,
)
from optimizer.units import MM_PER, Side, Units, length_text

# Of careful work; common practice, no source.
TAPE_MM, PLUMB_MM, FLOOR_MM, LEVEL_DEG = 1.0, 1.5, 1.0, 0.1
STEEPEST_FLOOR_DEG = 5.0
BASE = ("A", "B")
AS_ON_A_TAPE = re.compile(
    r"(?P<sign>-?)(?=\d)(?P<whole>\d{1,4}(?!/|\d))?[ -]?(?:(?P<above>\d{1,2})/(?P<below>[1-9]\d?))?"
)

ReadingKind = Literal["height", "center-line", "marks", "length", "rise", "slope"]
KINDS: dict[str, ReadingKind] = {
    "heights": "height",
    "center_line": "center-line",
    "marks": "marks",
    "lengths": "length",
    "rises": "rise",
    "slopes": "slope",
}
BETWEEN_TWO = ("marks", "lengths", "rises", "slopes")
MAY_BE_BELOW_ZERO = ("rises", "slopes", "center_line")  # the last: beyond the center line


class SurveyAccuracy(FrozenModel):
    """One standard deviation of what is read, each reading by itself."""

    tape: PositiveLength = Field(TAPE_MM, validate_default=False)
    """Of a length read on a tape or rule. [mm]"""
    plumb: PositiveLength = Field(PLUMB_MM, validate_default=False)
    """Of a floor mark against the joint above it, along and across the car each. [mm]"""
    floor: PositiveLength = Field(FLOOR_MM, validate_default=False)
    """How far the floor at a mark lies above or below a plane. [mm]"""
    level_deg: Annotated[PositiveNumber, between(0.0, 5.0, "deg")] = LEVEL_DEG
    """Of a slope read on a level. [deg]"""


class Floor(FrozenModel):
    """How the floor slopes, by a level laid on it; left out, it is taken as level."""

    rises_forward_deg: Annotated[float, between(-STEEPEST_FLOOR_DEG, STEEPEST_FLOOR_DEG, "deg")] = (
        0.0
    )
    """From the rear of the car to its front. [deg]"""
    rises_left_deg: Annotated[float, between(-STEEPEST_FLOOR_DEG, STEEPEST_FLOOR_DEG, "deg")] = 0.0
    """From the car's right to its left. [deg]"""

    @field_validator("*", mode="before")
    @classmethod
    def _numbers(cls, typed: object) -> float:
        return number(typed)


class SurveyRow(FrozenModel):
    """One line of a survey: the names that it is about, and what was read, as often as it was."""

    names: tuple[str, ...]
    values: tuple[float, ...]


class Survey(FrozenModel):
    """What was read of one wheel; all lengths in millimeters, also where `units` is "in"."""

    format: FormatOne
    """format = 1, the only one that this version reads"""
    name: Name
    """a line of text that names the car"""
    units: Units
    """the unit, "mm" or "in", of every length in the file"""
    layout: Layout
    """the suspension, such as "strut" or "double-wishbone", that the points belong to"""
    side: Side
    """the side of the car, "left" or "right", that was measured"""
    accuracy: SurveyAccuracy = as_empty()
    """How well tape, plumb line, floor and level tell."""
    floor: Floor | None = None
    """How the floor slopes."""
    heights: tuple[SurveyRow, ...] = ()
    """From the floor mark up to the joint: ["tie_rod_outer", 259.0, 260.0]. [mm]"""
    center_line: tuple[SurveyRow, ...] = ()
    """From the floor mark square to the car's center line: ["tie_rod_outer", 696.0]. [mm]"""
    marks: tuple[SurveyRow, ...] = ()
    """Between two floor marks, or one and a base mark: ["A", "tie_rod_outer", 912.0]. [mm]"""
    lengths: tuple[SurveyRow, ...] = ()
    """Straight from joint to joint: ["tie_rod_inner", "tie_rod_outer", 363.0]. [mm]"""
    rises: tuple[SurveyRow, ...] = ()
    """How much higher the second joint is than the first, by a level: above 0 up. [mm]"""
    slopes: tuple[SurveyRow, ...] = ()
    """Slope of a level laid from the first joint to the second: above 0 up. [deg]"""

    @field_validator(*KINDS, mode="plain")
    @classmethod
    def _rows_of_names_and_readings(cls, typed: Any, info: ValidationInfo) -> tuple[SurveyRow, ...]:
        if not isinstance(typed, list | tuple):
            raise ValueError(f"must be a list of rows [...], got {quoted(typed)}")
        if "layout" not in info.data:
            raise FaultList([])  # which names are right is not known; layout has its own fault
        key = str(info.field_name)
        rows = each_taken(enumerate(typed), lambda _, row: _row(row, key, info))
        return tuple(rows.values())

    def _faults(self, units: Units) -> Iterator[Fault]:
        if not self.marks or not self.heights:
            key = "heights" if self.marks else "marks"
            yield Fault(key, "must hold a row at least")

    @property
    def point_names(self) -> tuple[str, ...]:
        """Points of the layout, in the order of the case file."""
        return tuple(POINTS_OF_LAYOUT[self.layout].model_fields)

    @property
    def rows(self) -> dict[ReadingKind, tuple[SurveyRow, ...]]:
        """All rows by kind, read or still blank."""
        return {kind: getattr(self, key) for key, kind in KINDS.items()}


def _row(typed: object, key: str, info: ValidationInfo) -> SurveyRow:
    count = 2 if key in BETWEEN_TWO else 1
    form = "two names" if count == 2 else "a name"
    if not isinstance(typed, list | tuple) or len(typed) < count:
        raise ValueError(f"must be {form} and what was read, got {quoted(typed)}")
    names = tuple(_name(name, key, info) for name in typed[:count])
    if len(set(names)) < count:
        raise ValueError(f"must name two different places, got {quoted(typed)}")
    values = tuple(_reading(value, key, info) for value in typed[count:])
    return SurveyRow(names=names, values=values)


def _name(typed: object, key: str, info: ValidationInfo) -> str:
    known = tuple(POINTS_OF_LAYOUT[info.data["layout"]].model_fields)
    known = (*known, *BASE) if key == "marks" else known
    if not isinstance(typed, str):
        raise ValueError(f"must begin with names in quotes, got {quoted(typed)}")
    if typed not in known:
        message = unknown_key(typed, known).removeprefix("is not a known key")
        raise ValueError(f"names {quoted(typed)}, which is no point here{message}")
    return typed


def _inches(typed: object) -> float:
    """Take inches as a number, or as a tape shows them: "48 13/16"."""
    if not isinstance(typed, str):
        return number(typed)
    found = AS_ON_A_TAPE.fullmatch(typed.strip())
    if found is None:
        raise ValueError(f'must be a number, or as on a tape "48 13/16", got {quoted(typed)}')
    part = int(found["above"]) / int(found["below"]) if found["above"] else 0.0
    length = int(found["whole"] or 0) + part
    return -length if found["sign"] else length


def _reading(typed: object, key: str, info: ValidationInfo) -> float:
    value = _inches(typed) if file_units(info) == "in" and key != "slopes" else number(typed)
    if value <= 0.0 and key not in MAY_BE_BELOW_ZERO:
        raise ValueError(f"must be read above 0, got {quoted(typed)}\n(leave it out if not read)")
    if key == "slopes":
        if abs(value) >= 90.0:
            raise ValueError(f"must be read between -90 and 90 deg, got {quoted(typed)}")
        return value
    units = file_units(info)
    length = value * MM_PER[units]
    if abs(length) > FARTHEST_MM:
        farthest = length_text(FARTHEST_MM, units)
        raise ValueError(f"must be within {farthest}, got {quoted(typed)}\n(are the units right?)")
    return length
