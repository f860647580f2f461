"""Readings files: TOML in, its rows inline or in a CSV beside it, or a car's lengths alone."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import takewhile
from os import PathLike
from os.path import realpath
from pathlib import Path
from typing import Any, NamedTuple, TypeVar, get_args

from pydantic import ValidationError

from optimizer.errors import CaseFileError, Fault, PivotwrightError, printable
from optimizer.files.csv_rows import csv_rows, is_number
from optimizer.files.toml_file import file_text, refuse_other_kind, table_from_text
from optimizer.models.base import FrozenModel, faults_in, quoted
from optimizer.models.gauge_kinds import row_columns
from optimizer.models.lengths import Lengths
from optimizer.models.readings import Readings
from optimizer.units import Units

CSV_NAMED = "readings_csv"
LONGEST_SHAPE = 12  # letters
MASKED = "(every letter shown as a, every digit as 9: the file may be another than was meant)"
CONVERT = "\n(convert the column, or say the other unit in the file)"
UNIT_WORDS = {
    **dict.fromkeys(("mm", "millimeter", "millimeters", "millimetre", "millimetres"), "mm"),
    **dict.fromkeys(("inch", "inches"), "in"),
    **dict.fromkeys(("deg", "degree", "degrees"), "deg"),
    **dict.fromkeys(("minute", "minutes", "arcmin"), "min"),
    **dict.fromkeys(("thou", "mil", "mils"), "thou"),
    **dict.fromkeys(("cm", "centimeter", "centimeters", "centimetre", "centimetres"), "cm"),
}
ALONE = {"in": "in", "min": "min"}  # of a heading these may be words, too

Held = TypeVar("Held", bound=FrozenModel)


class _Line(NamedTuple):
    """Where a row of a CSV stands, and which of its cells hold no number, in words."""

    place: str
    no_numbers: str


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


def read_readings(path: str | PathLike[str], *, csv_anywhere: bool = False) -> Readings:
    """Read a readings file.

    ``readings_csv = "sweep.csv"`` in place of ``readings`` names a CSV beside or below the file,
    or, with `csv_anywhere`, wherever it is, one row a height; rows of words before the first number
    are taken for a heading.

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
    if CSV_NAMED not in table:
        refuse_other_kind(table, "readings", path)
    lines: list[_Line] = []
    if CSV_NAMED in table:
        lines, table["readings"] = _rows_beside(path, table, anywhere=csv_anywhere)
    return validated(Readings, table, path, lines)


def with_named_csv(paths: Sequence[Path]) -> list[Path]:
    """Readings files, and the CSVs in which their rows are."""
    naming = ((path, text) for path in paths if CSV_NAMED in (text := file_text(path)))
    named = [(path, table_from_text(text, str(path)).get(CSV_NAMED)) for path, text in naming]
    return [*paths, *(path.parent / csv for path, csv in named if isinstance(csv, str))]


def validated(
    kind: type[Held], table: dict[str, Any], path: Path, lines: Sequence[_Line] = ()
) -> Held:
    """Take what a file holds, named after the file if it has no name of its own.

    Raises
    ------
    CaseFileError
        With every fault, located as typed; those of a row at its place in `lines`.
    """
    if path.stem.isprintable():
        table.setdefault("name", path.stem)
    units = table.get("units")
    try:
        return kind.model_validate(
            table, context={"units": units if units in get_args(Units) else "mm"}
        )
    except ValidationError as error:
        faults = faults_in(error, kind, list(table))
        raise CaseFileError(path, [_where_typed(fault, lines) for fault in faults]) from None


def _rows_beside(
    path: Path, table: dict[str, Any], *, anywhere: bool
) -> tuple[list[_Line], list[list[Any]]]:
    """Take the name of a CSV out of the table, and out of the CSV its rows and where they stand."""
    typed = table.pop(CSV_NAMED)
    if "readings" in table:
        raise CaseFileError(path, [Fault(CSV_NAMED, "must be left out where readings are given")])
    if not isinstance(typed, str) or not typed.strip():
        message = f"must be the name of a file, in quotes, got {quoted(typed)}"
        raise CaseFileError(path, [Fault(CSV_NAMED, message)])
    if odd := _odd_place(path.parent, typed, anywhere=anywhere):
        raise CaseFileError(path, [Fault(CSV_NAMED, odd)])
    rows = csv_rows(path.parent / typed)
    typed, columns = printable(typed), _columns(table)
    heads = list(takewhile(lambda row: not any(map(is_number, row[1])), rows))
    if faults := [Fault(f"{typed} line {line}", odd) for line, odd in _odd_headings(heads, table)]:
        raise CaseFileError(path, faults)
    rows = rows[len(heads) :]
    if not rows:
        message = (
            f"must name a file with rows of numbers, {typed} holds none\n"
            "(one row a height; commas, semicolons or tabs between the numbers)"
        )
        raise CaseFileError(path, [Fault(CSV_NAMED, message)])
    return (
        [_Line(f"{typed} line {line}", _no_numbers(cells, columns)) for line, cells in rows],
        [[float(cell) if is_number(cell) else _shape(cell) for cell in cells] for _, cells in rows],
    )


def _odd_place(folder: Path, typed: str, *, anywhere: bool) -> str | None:
    """What is wrong with where a CSV is: a readings file may come from anyone."""
    if "\0" in typed:
        return f"must be the name of a file, got {quoted(typed)}"
    place = Path(realpath(folder / typed))
    if not anywhere and not place.is_relative_to(realpath(folder)):
        return (
            f"must name a file beside the readings or in a folder there, got {quoted(typed)}\n"
            "(--csv-anywhere lets it be elsewhere)"
        )
    if place.exists() and not place.is_file():
        return f"must name a file of rows, got {quoted(typed)}, which is none"
    return None


def _columns(table: dict[str, Any]) -> tuple[str, ...]:
    """Names of the numbers in a row, as the gauge has them."""
    return row_columns(table.get("kind"), both={"target_ahead", "target_behind"} <= set(table))


def _no_numbers(cells: Sequence[str], columns: Sequence[str]) -> str:
    """Name the cells of a row that hold no number, by their columns; empty where all do."""
    odd = [pair for pair in zip(cells, columns, strict=False) if not is_number(pair[0])]
    shapes = [f"a cell of the shape {quoted(_shape(cell))}" if cell else "none" for cell, _ in odd]
    told = [
        f"{column} must be a number, got {shape}"
        for (_, column), shape in zip(odd, shapes, strict=True)
    ]
    return "\n".join([*told, *([MASKED] if any(cell for cell, _ in odd) else [])])


def _shape(cell: str) -> str:
    """What is repeated of a cell without a number, for the file may be none that was meant."""
    return re.sub(r"[^\W\d]", "a", re.sub(r"\d", "9", cell[:LONGEST_SHAPE]))


def _odd_headings(
    heads: list[tuple[int, list[str]]], table: dict[str, Any]
) -> Iterator[tuple[int, str]]:
    """Say which headings name the columns in another order, or unit, than they are read in."""
    wanted = _columns(table)
    for line, cells in heads:
        words = (word for cell in cells for word in re.findall(r"[a-z]+", cell.lower()))
        found = tuple(word for word in words if word in wanted)
        if found != wanted and sorted(found) == sorted(wanted):
            yield line, f"must be {', '.join(wanted)}, in that order, got {', '.join(found)}"
            continue
        for cell, column in zip(cells, wanted, strict=False):
            key, unit = _unit_of(column, table)
            if unit is not None and (named := _named_unit(cell)) not in (None, unit):
                yield line, f'the heading of {column} says "{named}", but {key} = "{unit}"{CONVERT}'


def _unit_of(column: str, table: dict[str, Any]) -> tuple[str, str | None]:
    """Key that says in which unit a column is, and what it says; None where that is no unit."""
    by_angle = table.get("kind") == "angle" and column != "travel"
    key, known = ("angle_unit", ("deg", "min")) if by_angle else ("units", get_args(Units))
    unit = table.get(key, "deg" if by_angle else None)
    return key, unit if unit in known else None


def _named_unit(heading: str) -> str | None:
    """Unit that a heading names; what is a word beside is one in brackets or by itself."""
    text = heading.lower()
    if (parts := re.search(r"\b(0?\.\d+|1/\d+) ?(mm|in)\b", text)) is not None:
        return parts[0]  # a dial's marks, which are counted
    alone = re.findall(r"[(\[]\s*([a-z]+)\.?\s*[)\]]|^\s*([a-z]+)\.?\s*$", text)
    named = [UNIT_WORDS.get(word) for word in re.findall(r"[a-z]+", text)]
    named += [ALONE.get(one or other) for one, other in alone]
    return next((unit for unit in named if unit is not None), None)


def _where_typed(fault: Fault, lines: Sequence[_Line]) -> Fault:
    """Locate a faulty row in the CSV that it stands in, and name its cells without a number."""
    row = re.fullmatch(r"readings\[(\d+)\]", fault.location)
    if row is None or not lines:
        return fault
    line = lines[int(row[1]) - 1]
    return Fault(line.place, line.no_numbers or fault.message)


def holds_no_readings(table: Mapping[str, Any]) -> bool:
    """Whether a file holds a car's lengths alone."""
    return "car" in table and not {"kind", "readings", CSV_NAMED, "layout"} & set(table)


def read_lengths(path: Path) -> Lengths:
    """Read a file that holds a car's lengths and no readings.

    Raises
    ------
    CaseFileError
        With every fault of the file, located as typed.
    """
    return validated(Lengths, table_from_text(file_text(path), str(path)), path)
