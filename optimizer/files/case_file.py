"""Case files: TOML in, one validated case or one for each wheel out, every fault at once."""

from os import PathLike
from pathlib import Path
from typing import Any, get_args

from msgspec.structs import replace
from pydantic import ValidationError

from optimizer.errors import CaseFileError, Fault
from optimizer.files.lost_headers import headers_first
from optimizer.files.toml_file import file_text, refuse_other_kind, table_from_text
from optimizer.models.base import faults_in
from optimizer.models.case import Case
from optimizer.models.quantities import ARE_UNITS_RIGHT
from optimizer.models.vehicle import Vehicle, both_sides, names_sides
from optimizer.units import Units

MANY = 3  # lengths out of range that make their unit suspect


def read_car(path: str | PathLike[str]) -> Vehicle:
    """Read a case file, of one wheel or of both.

    Returns
    -------
    Vehicle
        With all lengths in millimeters, whatever the file's units.

    Raises
    ------
    CaseFileError
        With every fault of the file, located as typed.
    """
    return car_from_toml(file_text(Path(path)), str(path))


def read_case(path: str | PathLike[str]) -> Case:
    """Read a case file of one wheel; CaseFileError as `read_car`, and where it has both."""
    return case_from_toml(file_text(Path(path)), str(path))


def case_from_toml(text: str, name: str) -> Case:
    """Take a case of one wheel from text; CaseFileError as `car_from_toml`, or if it has both."""
    car = car_from_toml(text, name)
    if car.both_wheels:
        message = "measures both wheels, [left] and [right]; a case of one wheel is needed here"
        raise CaseFileError(name, [Fault("", message)])
    return car.case


def car_from_toml(text: str, name: str) -> Vehicle:
    """Take a car from the text of a case file; `name` is what its faults are listed under.

    Raises
    ------
    CaseFileError
        With every fault of the text, located as typed.
    """
    hint = " (pivotwright new prints a case to start from)"
    return car_from_table(table_from_text(text, name, hint=hint), name)


def car_from_table(table: dict[str, Any], name: str) -> Vehicle:
    """Take a car from what a case file holds; CaseFileError as `car_from_toml`."""
    refuse_other_kind(table, "case", name)
    if table.get("units") in get_args(Units):
        car, faults = _validated(table, table["units"])
        faults = _units_first(table, faults)
    else:
        # A size can't be judged without its unit: keep the faults that it has in either.
        car, faults = _validated(table, "mm")
        in_inches = _validated(table, "in")[1]
        faults = [fault for fault in faults if fault in in_inches]
    if any(fault.location == "format" for fault in faults) and "format" in table:
        faults = [fault for fault in faults if fault.location == "format"]  # the rest may be news
    if car is None:
        raise CaseFileError(name, faults)
    return replace(car, name=name)


def _units_first(table: dict[str, Any], faults: list[Fault]) -> list[Fault]:
    """In the place of many lengths out of range, one fault: the unit that would put them right."""
    doubted = [fault for fault in faults if ARE_UNITS_RIGHT in fault.message]
    if len(doubted) < MANY:
        return faults
    typed = table["units"]
    other = next(units for units in get_args(Units) if units != typed)
    left = _validated(table, other)[1]
    if any(ARE_UNITS_RIGHT in fault.message for fault in left):
        return faults
    message = (
        f'must be "{other}", it seems, got "{typed}"\n'
        f"({len(doubted)} lengths are out of range as typed, and none is then)"
    )
    return [Fault("units", message), *left]


def _validated(table: dict[str, Any], units: Units) -> tuple[Vehicle | None, list[Fault]]:
    if names_sides(table):
        car, faults = both_sides(table, units)
        return car, headers_first(table, faults)
    try:
        case = Case.model_validate(table, context={"units": units})
    except ValidationError as error:
        return None, headers_first(table, faults_in(error, Case))
    if any(case.rack.tilt):
        hint = "(the other wheel passes for a mirror image, which it is not with a tilted rack)"
        return None, [Fault("rack.tilt", f"asks for both wheels: [left] and [right]\n{hint}")]
    return Vehicle((case,)), []
