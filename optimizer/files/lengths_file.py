"""Readings files without readings: a car's lengths alone."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError

from optimizer.errors import CaseFileError
from optimizer.files.toml_file import file_text, table_from_text
from optimizer.models.base import faults_in
from optimizer.models.lengths import Lengths
from optimizer.units import Units


def holds_no_readings(table: Mapping[str, Any]) -> bool:
    """Whether a file holds a car's lengths alone."""
    return "car" in table and not {"kind", "readings", "readings_csv", "layout"} & set(table)


def read_lengths(path: Path) -> Lengths:
    """Read a file that holds a car's lengths and no readings.

    Raises
    ------
    CaseFileError
        With every fault of the file, located as typed.
    """
    table = table_from_text(file_text(path), str(path))
    if path.stem.isprintable():
        table.setdefault("name", path.stem)
    units = table.get("units")
    try:
        return Lengths.model_validate(
            table, context={"units": units if units in get_args(Units) else "mm"}
        )
    except ValidationError as error:
        raise CaseFileError(path, faults_in(error, Lengths, list(table))) from None
