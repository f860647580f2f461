"""Case files: TOML in, a validated case out, every fault at once."""

from os import PathLike
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError

from optimizer.errors import CaseFileError, Fault
from optimizer.models.base import faults_in
from optimizer.models.case import Case
from optimizer.toml_file import file_text, table_from_text
from optimizer.units import Units


def read_case(path: str | PathLike[str]) -> Case:
    """Read a case file.

    Returns
    -------
    Case
        With all lengths in millimeters, whatever the file's units.

    Raises
    ------
    CaseFileError
        With every fault of the file, located as typed.
    """
    return case_from_toml(file_text(Path(path)), str(path))


def case_from_toml(text: str, name: str) -> Case:
    """Take a case from the text of a case file; `name` is what its faults are listed under.

    Raises
    ------
    CaseFileError
        With every fault of the text, located as typed.
    """
    table = table_from_text(text, name)
    if table.get("units") in get_args(Units):
        case, faults = _validated(table, table["units"])
    else:
        # A size can't be judged without its unit: keep the faults that it has in either.
        case, faults = _validated(table, "mm")
        in_inches = _validated(table, "in")[1]
        faults = [fault for fault in faults if fault in in_inches]
    if any(fault.location == "format" for fault in faults) and "format" in table:
        faults = [fault for fault in faults if fault.location == "format"]  # the rest may be news
    if case is None:
        raise CaseFileError(name, faults)
    return case


def _validated(table: dict[str, Any], units: Units) -> tuple[Case | None, list[Fault]]:
    try:
        return Case.model_validate(table, context={"units": units}), []
    except ValidationError as error:
        return None, faults_in(error, Case)
