"""Kinds of values that a case may hold: lengths, angles, points, directions.

Every model holds millimeters.  A file in inches is validated with the context
``{"units": "in"}``: lengths are then scaled as they are read, and messages speak inches.
"""

from math import hypot
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, StrictInt, StrictStr, ValidationInfo

from optimizer.models.base import each_taken, file_units, number, quoted
from optimizer.units import MM_PER, length_text

FARTHEST_MM = 5000.0  # no point of a car's front corner lies farther from a sensible origin
SHORTEST_MM = 1e-6  # nothing of a car that has a length is shorter
WIDEST_ADJUSTMENT_MM = 400.0
STEEPEST_DEG = 15.0
MOST_PIECES = 1000
LARGEST = 10**60  # of a number that a message repeats
ARE_UNITS_RIGHT = "(are the units of the file right?)"

Triple = tuple[float, float, float]


def between_mm(low: float, high: float) -> AfterValidator:
    """Limits of a length that has been scaled, both allowed. [mm]."""

    def checked(length: float, info: ValidationInfo) -> float:
        if not low <= length <= high:
            least, most, got = (length_text(x, file_units(info)) for x in (low, high, length))
            raise ValueError(f"must be between {least} and {most}, got {got}\n{ARE_UNITS_RIGHT}")
        return length

    return AfterValidator(checked)


def between(low: float, high: float, unit: str) -> AfterValidator:
    """Limits of a number that has a unit of its own, both allowed."""

    def checked(value: float) -> float:
        if not low <= value <= high:
            got = f"{value:.9g} {unit}" if abs(value) < LARGEST else "a number too large to print"
            raise ValueError(f"must be between {low:g} and {high:g} {unit}, got {got}")
        return value

    return AfterValidator(checked)


def above_zero(value: float) -> float:
    """Take a number above 0."""
    if value <= 0.0:
        raise ValueError(f"must be above 0, got {value:g}")
    return value


def _not_below_zero(value: float) -> float:
    if value < 0.0:
        raise ValueError(f"must be 0 or more, got {quoted(value)}")
    return value


def _printable(text: str) -> str:
    if not text.strip() or not text.isprintable():
        raise ValueError(f"must be one line of text, got {quoted(text)}")
    return text


def in_millimeters(value: float, info: ValidationInfo) -> float:
    """Scale a length of the file to millimeters."""
    return value * MM_PER[file_units(info)]


def _not_too_short(length: float, info: ValidationInfo) -> float:
    if length < SHORTEST_MM:
        units = file_units(info)
        least = f"{SHORTEST_MM / MM_PER[units]:.3g} {units}"
        raise ValueError(f"must be {least} or more, got {length / MM_PER[units]:.3g} {units}")
    return length


def _triple(typed: object) -> Triple:
    if not isinstance(typed, list | tuple) or len(typed) != 3:
        commas = isinstance(typed, list) and len(typed) == 6
        hint = "\n(decimals take a point, not a comma)" if commas else ""
        raise ValueError(f"must be three numbers [x, y, z], got {quoted(typed)}{hint}")
    try:
        x, y, z = (number(item) for item in typed)
    except ValueError as fault:
        _, _, hint = str(fault).partition("\n")
        hint = f"\n{hint}" if hint else ""
        raise ValueError(f"must be three finite numbers, got {quoted(typed)}{hint}") from None
    return x, y, z


def _point(typed: object, info: ValidationInfo) -> Triple:
    x, y, z = (in_millimeters(value, info) for value in _triple(typed))
    if max(abs(x), abs(y), abs(z)) > FARTHEST_MM:
        farthest = length_text(FARTHEST_MM, file_units(info))
        raise ValueError(
            f"must lie within {farthest} of the origin along each axis, got {quoted(typed)}\n"
            f"{ARE_UNITS_RIGHT}"
        )
    return x, y, z


def _direction(typed: object) -> Triple:
    direction = _triple(typed)
    if not 1e-3 <= hypot(*direction) <= 1e3:
        raise ValueError(
            f"must be a direction of a length between 0.001 and 1000, got {quoted(typed)}\n"
            "(only its direction counts: [0, 0, -1] is straight down)"
        )
    return direction


def _format_one(typed: object) -> object:
    if isinstance(typed, bool) or typed != 1:
        raise ValueError(f"must be 1, the only one that this version reads, got {quoted(typed)}")
    return typed


FormatOne = Annotated[Literal[1], BeforeValidator(_format_one)]
Number = Annotated[float, BeforeValidator(number)]
Length = Annotated[Number, AfterValidator(in_millimeters), between_mm(-FARTHEST_MM, FARTHEST_MM)]
PositiveLength = Annotated[
    Number,
    AfterValidator(above_zero),
    AfterValidator(in_millimeters),
    AfterValidator(_not_too_short),
    between_mm(0, FARTHEST_MM),
]
LengthFromZero = Annotated[
    Number,
    AfterValidator(_not_below_zero),
    AfterValidator(in_millimeters),
    between_mm(0, FARTHEST_MM),
]
Adjustment = Annotated[Length, between_mm(-WIDEST_ADJUSTMENT_MM, WIDEST_ADJUSTMENT_MM)]
Stroke = Annotated[LengthFromZero, between_mm(0, WIDEST_ADJUSTMENT_MM)]
TireRadius = Annotated[Length, between_mm(100.0, 1000.0)]
WheelAngle = Annotated[Number, between(-STEEPEST_DEG, STEEPEST_DEG, "deg")]
TiltAngle = Annotated[Number, AfterValidator(above_zero), between(0.0, 90.0, "deg")]
Point = Annotated[Triple, BeforeValidator(_point)]
Direction = Annotated[Triple, BeforeValidator(_direction)]
Count = Annotated[StrictInt, AfterValidator(_not_below_zero), between(0, MOST_PIECES, "pieces")]
PositiveNumber = Annotated[Number, AfterValidator(above_zero)]
Name = Annotated[StrictStr, AfterValidator(_printable)]


def _not_empty(typed: object) -> object:
    if typed in ([], ()):
        raise ValueError("must not be empty")
    return typed


NOT_EMPTY = BeforeValidator(_not_empty)


Row = tuple[float, ...]
LEAST_STEP_MM = 0.1  # heights nearer than this are the same
LARGEST_NUMBER = 10_000.0  # millimeters, degrees or minutes; no gauge shows more


def rows_of_numbers(
    typed: Any, info: ValidationInfo, *, lengths: int | None = None
) -> tuple[Row, ...]:
    """Take rows of numbers, the first `lengths` of each (or all) scaled to millimeters.

    Raises
    ------
    FaultList
        Names every faulty row.
    """
    if not isinstance(typed, list | tuple):
        raise ValueError(f"must be a list of rows, got {quoted(typed)}")

    def taken(_: int, typed_row: Any) -> Row:
        if not isinstance(typed_row, list | tuple):
            raise ValueError(f"must be a list of numbers, got {quoted(typed_row)}")
        values = [number(value) for value in typed_row]
        count = len(values) if lengths is None else lengths
        row = (*(in_millimeters(x, info) for x in values[:count]), *values[count:])
        if max(map(abs, row), default=0.0) > LARGEST_NUMBER:
            told = f"holds too large a number, got {quoted(values)}"
            hint = "\n(is the unit right? Type 0.213 for 213 thousandths)"
            raise ValueError(f"{told}{hint}" if file_units(info) == "in" else told)
        return row

    return tuple(each_taken(enumerate(typed), taken).values())
