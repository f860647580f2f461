"""Rows of numbers as typed in a file: readings, and the band that they are held against."""

from typing import Any

from pydantic import ValidationInfo

from optimizer.errors import Fault
from optimizer.models.base import FaultList, number, quoted
from optimizer.models.quantities import file_units, in_millimeters

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
    rows, found = [], []
    for place, row in enumerate(typed, start=1):
        try:
            if not isinstance(row, list | tuple):
                raise ValueError(f"must be a list of numbers, got {quoted(row)}")
            values = [number(value) for value in row]
        except ValueError as error:
            found.append(Fault(f"[{place}]", str(error)))
            continue
        count = len(values) if lengths is None else lengths
        row = (*(in_millimeters(x, info) for x in values[:count]), *values[count:])
        if max(map(abs, row), default=0.0) > LARGEST_NUMBER:
            hint = "\n(is the unit right? Type 0.213 for 213 thousandths)"
            told = f"holds too large a number, got {quoted(values)}"
            found.append(Fault(f"[{place}]", f"{told}{hint}" if file_units(info) == "in" else told))
        rows.append(row)
    if found:
        raise FaultList(found)
    return tuple(rows)
