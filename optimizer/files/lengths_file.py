"""Readings files without readings: a car's lengths alone."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from optimizer.files.readings_file import validated
from optimizer.files.toml_file import file_text, table_from_text
from optimizer.models.lengths import Lengths


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
    return validated(Lengths, table_from_text(file_text(path), str(path)), path)
