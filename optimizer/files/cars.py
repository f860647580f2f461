"""Cars to screen: case files, folders and patterns of them, tables with one car a row."""

import hashlib
import re
from collections.abc import Iterator, Sequence
from glob import glob, has_magic
from pathlib import Path

from msgspec import Struct

from optimizer.errors import PivotwrightError
from optimizer.files.car_table import Table, cars_of_table
from optimizer.files.case_file import car_from_table, car_from_toml
from optimizer.files.toml_file import file_text
from optimizer.models.base import quoted
from optimizer.models.vehicle import Vehicle

LOOKS_LIKE_A_CAR = re.compile(
    r"""^\s* (?: ["']?layout["']? \s* = | \[ \s* (?:(?:left|right)\.)? points \s* \] )""",
    re.MULTILINE | re.VERBOSE,
)


class Car(Struct, frozen=True):
    """One car as it came: the text of a case file, or the table that a row of a CSV makes.

    `name` says where from, and stands before its faults.
    """

    name: str
    content: str | Table

    @property
    def digest(self) -> str:
        """Sixteen digits that change with anything in it."""
        return hashlib.sha256(repr(self.content).encode()).hexdigest()[:16]

    def read(self) -> Vehicle:
        """Validate it; CaseFileError with every fault."""
        if isinstance(self.content, str):
            return car_from_toml(self.content, self.name)
        return car_from_table(self.content, self.name)


def cars_in(places: Sequence[str]) -> Iterator[Car | PivotwrightError]:
    """Every car once, in the order of the places and by name within each.

    Parameters
    ----------
    places : sequence of str
        A case file (TOML); a folder, whose files that name a layout or points are taken; a pattern
        such as ``cars/**/*.toml``; a table of cars (CSV).

    Yields
    ------
    Car or PivotwrightError
        The second for a file that can't be read, and a row of a table that is none.

    Raises
    ------
    PivotwrightError
        A place that holds no car at all.
    """
    seen: set[Path] = set()
    for place in places:
        files, folder = _files(place)
        found = False
        for file in files:
            for car in _cars_of(file, must_look_like_one=folder):
                found = True
                if file.resolve() not in seen:
                    yield car
            seen.add(file.resolve())
        if not found:
            raise PivotwrightError(f"{_shown(place)} holds no case (a TOML file with a layout)")


def _files(place: str) -> tuple[list[Path], bool]:
    """Files that a place names, and whether it is a folder, which may hold others too."""
    path = Path(place)
    if path.is_dir():
        return sorted(path.glob("*.toml")), True
    if has_magic(place) and not path.exists():
        return [Path(name) for name in sorted(glob(place, recursive=True))], False
    return [path], False


def _cars_of(file: Path, *, must_look_like_one: bool) -> Iterator[Car | PivotwrightError]:
    try:
        if file.suffix.lower() == ".csv":
            for line, row in cars_of_table(file):
                name = f"{file.as_posix()}, line {line}"
                yield row if isinstance(row, PivotwrightError) else Car(name, row)
            return
        text = file_text(file)
    except PivotwrightError as fault:
        yield fault
        return
    if LOOKS_LIKE_A_CAR.search(text) or not must_look_like_one:
        yield Car(file.as_posix(), text)


def _shown(place: str) -> str:
    return place if place.isprintable() else quoted(place)
