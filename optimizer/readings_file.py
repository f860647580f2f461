"""Readings files: TOML in, its rows inline or in a CSV beside it, every fault at once."""

import re
from collections.abc import Sequence
from itertools import takewhile
from os import PathLike
from os.path import realpath
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError

from optimizer.csv_rows import csv_rows, is_number
from optimizer.errors import CaseFileError, Fault, PivotwrightError
from optimizer.models.base import faults_in, quoted
from optimizer.models.readings import Readings
from optimizer.toml_file import file_text, table_from_text
from optimizer.units import Units


def refuse_twice(paths: Sequence[Path]) -> None:
    """Stop where a file is named twice: its readings would count twice.

    Raises
    ------
    PivotwrightError
        Names the file.
    """
    for place, path in enumerate(paths):
        if realpath(path) in map(realpath, paths[:place]):
            raise PivotwrightError(f"{path} is named twice; each sweep counts once")


def read_readings(path: str | PathLike[str]) -> Readings:
    """Read a readings file.

    ``readings_csv = "sweep.csv"`` in place of ``readings`` names a CSV beside the file, one row a
    height; rows of words before the first number are taken for a heading.

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
    lines: list[str] = []
    if "readings_csv" in table:
        lines, table["readings"] = _rows_beside(path, table)
    units = table.get("units")
    try:
        return Readings.model_validate(
            table, context={"units": units if units in get_args(Units) else "mm"}
        )
    except ValidationError as error:
        faults = faults_in(error, Readings, list(table))
        raise CaseFileError(path, [_where_typed(fault, lines) for fault in faults]) from None


def _rows_beside(path: Path, table: dict[str, Any]) -> tuple[list[str], list[list[Any]]]:
    """Take the name of a CSV out of the table, and out of the CSV its rows and where they stand."""
    typed = table.pop("readings_csv")
    if "readings" in table:
        raise CaseFileError(
            path, [Fault("readings_csv", "must be left out where readings are given")]
        )
    if not isinstance(typed, str) or not typed.strip():
        message = f"must be the name of a file, in quotes, got {quoted(typed)}"
        raise CaseFileError(path, [Fault("readings_csv", message)])
    rows = csv_rows(path.parent / typed)
    heads = takewhile(lambda row: not any(map(is_number, row[1])), rows)
    rows = rows[len(list(heads)) :]
    return (
        [f"{typed} line {number}" for number, _ in rows],
        [[float(cell) if is_number(cell) else cell for cell in cells] for _, cells in rows],
    )


def _where_typed(fault: Fault, lines: list[str]) -> Fault:
    """Locate a faulty row in the CSV that it stands in."""
    row = re.fullmatch(r"readings\[(\d+)\]", fault.location)
    return Fault(lines[int(row[1]) - 1], fault.message) if row and lines else fault
