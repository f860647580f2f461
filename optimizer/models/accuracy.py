"""How well the points of a case are known, and how exactly a setting is built."""

from collections.abc import Mapping
from itertools import count
from math import hypot
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from optimizer.errors import Fault
from optimizer.models.base import (
    FaultList,
    FrozenModel,
    each_taken,
    file_units,
    location,
    number,
    quoted,
)
from optimizer.models.quantities import (
    LengthFromZero,
    Number,
    Triple,
    between,
    between_mm,
)
from optimizer.units import MM_PER, length_text

USUAL_ACCURACY_MM = 2.0  # of a tape, a plumb bob and some care; common practice, no source
WORST_ACCURACY_MM = 100.0
UNKNOWN_X_MM = 40.0  # of a typical x, where nobody measured it; common practice, no source

Row = tuple[float, ...]


Tolerance = Annotated[LengthFromZero, between_mm(0, WORST_ACCURACY_MM)]


class Accuracy(FrozenModel):
    """How well the points are known, and how exactly a setting is built.

    Of points one standard deviation of each coordinate is stated; of the build a tolerance to both
    sides, within which every error is as probable as another.  The usual tolerances are common
    practice, no source.
    """

    points: float | dict[str, Triple] = Field(USUAL_ACCURACY_MM, validate_default=False)
    """Of every point, or by point name for x, y and z; unnamed points have the usual 2 mm. [mm]"""

    x: Literal["measured", "unknown"] = "measured"
    """Whether x was measured at all; "unknown" where points were taken in the front view alone."""

    covariance_root: dict[str, tuple[Row, Row, Row]] = Field({}, validate_default=False)
    """How errors of points hang together, as `survey` writes it; such points are not in `points`.

    The lower triangle L of the covariance L L', by point a row each for x, y and z.  Column k is
    one independent error, of one standard deviation: row k is the first that has it. [mm]
    """

    contradicted: bool = False
    """Whether readings contradict the points, which then are a guess; `gauge --write` says so."""

    stack: Tolerance = Field(0.1, validate_default=False)
    """How far the height of the outer joint on its stud may be off. [mm]"""
    ride_height: Tolerance = Field(3.0, validate_default=False)
    """How far the car may stand from the wanted ride height. [mm]"""
    rack_center: Tolerance = Field(1.0, validate_default=False)
    """How far the rack may be off its center where toe is set. [mm]"""
    toe_setting_deg: Annotated[Number, between(0.0, 5.0, "deg")] = 0.05
    """How far the static toe of the wheel may be off. [deg]"""
    rod_play: Tolerance = Field(0.1, validate_default=False)
    """How far play in its thread may leave the tie rod from its length. [mm]"""
    left_right: Tolerance = Field(0.0, validate_default=False)
    """How far a coordinate on the other side may lie from the mirror image of the measured one.

    What is fitted is then judged by the worse of both wheels; at 0 they are mirror images. [mm]
    """

    def of(self, point: str) -> Triple:
        """Standard deviation of a point's x, y and z. [mm]."""
        if point in self.covariance_root:
            x, y, z = (hypot(*row) for row in self.covariance_root[point])
            return x, y, z
        if isinstance(self.points, float):
            of_point = self.points, self.points, self.points
        else:
            of_point = self.points.get(point, (USUAL_ACCURACY_MM,) * 3)
        return of_point if self.x == "measured" else (UNKNOWN_X_MM, *of_point[1:])

    @field_validator("points", mode="plain")
    @classmethod
    def _every_point_or_by_name(cls, typed: Any, info: ValidationInfo) -> float | dict[str, Triple]:
        if not isinstance(typed, dict):
            return _deviation(typed, info)
        return each_taken(typed.items(), lambda _, value: _deviations(value, info))

    @field_validator("covariance_root", mode="plain")
    @classmethod
    def _a_row_for_each_coordinate(
        cls, typed: Any, info: ValidationInfo
    ) -> dict[str, tuple[Row, Row, Row]]:
        if not isinstance(typed, dict):
            raise ValueError(f"must be a table of points, got {quoted(typed)}")
        if info.data.get("x") == "unknown":
            raise ValueError('must be left out where x = "unknown": a survey measures x too')

        def taken(name: str, value: object) -> tuple[Row, Row, Row]:
            if isinstance(info.data.get("points"), dict) and name in info.data["points"]:
                raise ValueError("must not stand in accuracy.points as well")
            return _rows(value, info)

        return _triangle(each_taken(typed.items(), taken))


def _rows(typed: object, info: ValidationInfo) -> tuple[Row, Row, Row]:
    if not isinstance(typed, list | tuple) or len(typed) != 3:
        raise ValueError(f"must be three rows of numbers, for x, y and z, got {quoted(typed)}")
    x, y, z = (_row(row, info) for row in typed)
    return x, y, z


def _row(typed: object, info: ValidationInfo) -> Row:
    if not isinstance(typed, list | tuple) or not typed:
        raise ValueError(f"must be three rows of numbers, for x, y and z, got {quoted(typed)}")
    units = file_units(info)
    row = tuple(number(item) * MM_PER[units] for item in typed)
    if hypot(*row) > WORST_ACCURACY_MM:
        worst, got = (length_text(x, units) for x in (WORST_ACCURACY_MM, hypot(*row)))
        raise ValueError(f"must stay within {worst} in all of a row, got {got}")
    if row[-1] <= 0.0:
        raise ValueError(
            f"must have rows that end above 0, got {quoted(typed)}\n"
            "(the last number of a row is what the coordinate errs by on its own)"
        )
    return row


def _triangle(rows: Mapping[str, tuple[Row, Row, Row]]) -> dict[str, tuple[Row, Row, Row]]:
    """Points in the order in which their rows make a triangle; they may be typed in any."""
    ordered = sorted(rows.items(), key=lambda named: len(named[1][0]))
    lengths = count(1)
    for name, of_point in ordered:
        wanted = [next(lengths) for _ in of_point]
        if [len(row) for row in of_point] != wanted:
            message = (
                f"must have rows of {wanted[0]}, {wanted[1]} and {wanted[2]} numbers, got "
                f"{', '.join(str(len(row)) for row in of_point)}\n"
                "(each row of the table is one number longer than the one before it)"
            )
            raise FaultList([Fault(location([name]), message)])
    return dict(ordered)


def _deviations(typed: object, info: ValidationInfo) -> Triple:
    if not isinstance(typed, list | tuple):
        every = _deviation(typed, info)
        return every, every, every
    if len(typed) != 3:
        raise ValueError(f"must be a number or three numbers [x, y, z], got {quoted(typed)}")
    x, y, z = (_deviation(item, info) for item in typed)
    return x, y, z


def _deviation(typed: object, info: ValidationInfo) -> float:
    units = file_units(info)
    deviation = number(typed) * MM_PER[units]
    if not 0.0 <= deviation <= WORST_ACCURACY_MM:
        worst, got = (length_text(x, units) for x in (WORST_ACCURACY_MM, deviation))
        raise ValueError(f"must be between 0 and {worst}, got {got}")
    return deviation
