"""Rows of numbers as typed in a file: readings, and the band that they are held against."""

from typing import Any

from pydantic import ValidationInfo

from optimizer.models.base import each_taken, file_units, number, quoted
from optimizer.models.quantities import in_millimeters

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
