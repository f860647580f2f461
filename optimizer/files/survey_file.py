"""Survey files: TOML in, what was read out, every fault at once."""

from os import PathLike
from pathlib import Path
from typing import get_args

from pydantic import ValidationError

from optimizer.errors import CaseFileError, Fault
from optimizer.files.toml_file import file_text, table_from_text
from optimizer.models.base import faults_in
from optimizer.models.survey import Survey
from optimizer.units import Units

OF_A_CASE = ("points", "left", "right")
START = " (pivotwright new survey LAYOUT prints one to fill in)"


def read_survey(path: str | PathLike[str]) -> Survey:
    """Read a survey file; CaseFileError with every fault of it, located as typed."""
    return survey_from_toml(file_text(Path(path)), str(path))


def survey_from_toml(text: str, name: str) -> Survey:
    """Take a survey from the text of its file; `name` is what its faults are listed under."""
    table = table_from_text(text, name, hint=START)
    if not table.keys().isdisjoint(OF_A_CASE):
        raise CaseFileError(name, [Fault("", f"is a case file; a survey lists heights{START}")])
    units = table.get("units")
    try:
        return Survey.model_validate(
            table, context={"units": units if units in get_args(Units) else "mm"}
        )
    except ValidationError as error:
        raise CaseFileError(name, faults_in(error, Survey, list(table))) from None
