"""Tables with one car a row: a CSV headed by the keys of a case file.

A heading is a key with its table (``ride.lowered_by``), or one coordinate of a point
(``points.strut_top.z``).  The column ``like`` names a case file, from the table's own folder, that
says whatever the row leaves out; so a sheet of points needs no more than the points.
"""

import re
import tomllib
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

from optimizer.errors import CaseFileError, Fault
from optimizer.files.csv_rows import csv_rows
from optimizer.files.toml_file import file_text, table_from_text
from optimizer.models.base import quoted

Table = dict[str, Any]

LIKE, NAME = "like", "name"  # a car may be called 205
LARGEST_TABLE = 64_000_000  # bytes
AXES = ("x", "y", "z")
KEY = re.compile(r"[A-Za-z0-9_]+(\.[A-Za-z0-9_]+)*")


def cars_of_table(path: Path) -> Iterator[tuple[int, Table | CaseFileError]]:
    """What each row makes of a case file, or why it makes none, with the number of its line.

    Raises
    ------
    CaseFileError
        The table has no headings that are keys.
    """
    rows = csv_rows(path, largest=LARGEST_TABLE)
    if not rows:
        raise CaseFileError(path, [Fault("", "is empty; its first line must name keys of a case")])
    (line, keys), *rest = rows
    _raise_unless_keys(path, line, keys)
    bases: dict[str, Table] = {}
    for number, cells in rest:
        try:
            yield number, _car(path, keys, cells, bases)
        except CaseFileError as fault:
            says = [
                Fault(f"line {number}", f"{x.location} {x.message}".strip()) for x in fault.faults
            ]
            yield number, CaseFileError(path, says)


def _car(path: Path, keys: list[str], cells: list[str], bases: dict[str, Table]) -> Table:
    """What a row makes of a case file; the cases that rows start from are kept in `bases`."""
    if len(cells) > len(keys):
        message = f"must have at most the {len(keys)} cells of the heading, got {len(cells)}"
        raise CaseFileError(path, [Fault("", message)])
    said = {key: cell for key, cell in zip(keys, cells, strict=False) if cell}
    base = said.pop(LIKE, "")
    if base and base not in bases:
        bases[base] = _base(path, base)
    return _table(deepcopy(bases[base]) if base else {"format": 1}, said)


def _raise_unless_keys(path: Path, line: int, keys: list[str]) -> None:
    wrong = [key for key in keys if not KEY.fullmatch(key)]
    twice = [key for place, key in enumerate(keys) if key in keys[:place]]
    if wrong or twice:
        message = (
            f"must name keys of a case, such as points.strut_top.z, got {quoted(wrong[0])}"
            if wrong
            else f"names {twice[0]} twice"
        )
        raise CaseFileError(path, [Fault(f"line {line}", message)])


def _base(path: Path, name: str) -> Table:
    """The case that a row starts from, which must lie beside the table or below it."""
    parts = Path(name).parts
    if Path(name).is_absolute() or ".." in parts:
        message = f"must name a case beside the table or below it, got {quoted(name)}"
        raise CaseFileError(path, [Fault(LIKE, message)])
    case = path.parent / name
    try:
        return table_from_text(file_text(case), case.as_posix())
    except CaseFileError as fault:
        raise CaseFileError(path, [Fault(LIKE, str(fault))]) from None


def _table(table: Table, said: dict[str, str]) -> Table:
    for key, cell in said.items():
        *outer, last = key.split(".")
        if last in AXES and outer:
            *outer, point = outer
            _put(_inside(table, outer), point, AXES.index(last), _value(cell))
        else:
            _inside(table, outer)[last] = cell if last == NAME else _value(cell)
    return table


def _inside(table: Table, keys: list[str]) -> Table:
    for key in keys:
        inner = table.get(key)
        if not isinstance(inner, dict):
            inner = table[key] = {}
        table = inner
    return table


def _put(table: Table, name: str, axis: int, value: Any) -> None:
    point = table.get(name)
    if not isinstance(point, list) or len(point) != len(AXES):
        point = table[name] = ["", "", ""]
    point[axis] = value


def _value(cell: str) -> Any:
    """A number, a list, true or false as a case file writes it; anything else is text."""
    try:
        return tomllib.loads(f"cell = {cell}")["cell"]
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        return cell
