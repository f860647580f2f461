"""Readings files: TOML in, its rows inline or in a CSV beside it, every fault at once."""

import csv
from os import PathLike
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError

from optimizer.errors import CaseFileError, Fault
from optimizer.models.base import faults_in, quoted
from optimizer.models.readings import Readings
from optimizer.toml_file import file_text, table_from_text
from optimizer.units import Units


def read_readings(path: str | PathLike[str]) -> Readings:
    """Read a readings file.

    ``readings_csv = "sweep.csv"`` in place of ``readings`` names a CSV beside the file, one row a
    height; a first row of words is taken for a heading.

    Raises
    ------
    CaseFileError
        With every fault of the file, located as typed.
    """
    path = Path(path)
    table = table_from_text(file_text(path), str(path))
    if "layout" in table and "readings" not in table:
        raise CaseFileError(
            path, [Fault("", "is a case file; name one case at most, before the readings")]
        )
    if "readings_csv" in table:
        table["readings"] = _rows_beside(path, table)
    units = table.get("units")
    try:
        return Readings.model_validate(
            table, context={"units": units if units in get_args(Units) else "mm"}
        )
    except ValidationError as error:
        raise CaseFileError(path, faults_in(error, Readings, list(table))) from None


def _rows_beside(path: Path, table: dict[str, Any]) -> list[list[Any]]:
    """Take the name of a CSV out of the table, and the rows out of the CSV."""
    typed = table.pop("readings_csv")
    if "readings" in table:
        raise CaseFileError(
            path, [Fault("readings_csv", "must be left out where readings are given")]
        )
    if not isinstance(typed, str) or not typed.strip():
        message = f"must be the name of a file, in quotes, got {quoted(typed)}"
        raise CaseFileError(path, [Fault("readings_csv", message)])
    beside = path.parent / typed
    try:
        lines = list(csv.reader(file_text(beside).splitlines(), strict=True))
    except csv.Error as error:
        raise CaseFileError(beside, [Fault("", f"is not a CSV file: {error}")]) from None
    rows = [[_number_or_text(cell) for cell in line] for line in lines if any(line)]
    if rows and all(isinstance(cell, str) for cell in rows[0]):
        rows = rows[1:]
    return rows


def _number_or_text(cell: str) -> float | str:
    try:
        return float(cell)
    except ValueError:
        return cell.strip()
