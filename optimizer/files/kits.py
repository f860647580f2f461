"""Kits files: adjuster kits that a case may be tried with, each row judged on its own."""

from collections.abc import Iterator, Sequence
from os import PathLike
from pathlib import Path
from typing import Any

from msgspec import Struct
from pydantic import ValidationError

from optimizer.errors import CaseFileError, Fault, PivotwrightError
from optimizer.files.toml_file import file_text, refuse_other_kind, table_from_text
from optimizer.models.base import faults_in, quoted
from optimizer.models.kits import Kit, KitsFile
from optimizer.models.quantities import ARE_UNITS_RIGHT
from optimizer.models.stacks import shelf_stacks, unlikely_reach
from optimizer.models.tables import grade_faults
from optimizer.units import Units, length_text


class Kits(Struct, frozen=True):
    """Kits that can be tried, the `currency` of their prices, and what is wrong with the others.

    `doubted` is what looks odd in those that can be tried.
    """

    kits: tuple[Kit, ...]
    currency: str | None
    refused: CaseFileError | None
    doubted: tuple[Fault, ...] = ()


def read_kits(path: str | PathLike[str]) -> Kits:
    """Read a kits file.

    Returns
    -------
    Kits
        Rows with a fault are left out and named in `refused`.

    Raises
    ------
    CaseFileError
        The file as a whole can't be used, or none of its rows can.
    """
    table = table_from_text(file_text(Path(path)), str(path))
    refuse_other_kind(table, "kits", path)
    rows = table.pop("kits", None)
    head = _head(path, table)
    if not isinstance(rows, list) or not rows:
        message = 'must be given\n(a table [[kits]] a kit, each with name = "…" and a stack)'
        raise CaseFileError(path, [Fault("kits", message)])
    kits: dict[str, Kit] = {}
    faults: list[Fault] = []
    doubted: list[Fault] = []
    for place, row in enumerate(rows, start=1):
        kit, wrong, odd = _kit(row, head.units)
        if kit is not None and kit.name in kits:
            wrong += [Fault("name", f"must differ from the other kits', got {quoted(kit.name)}")]
        if kit is not None and not wrong:
            kits[kit.name] = kit
            doubted += [fault.inside(f"kits[{place}]") for fault in odd]
        faults += [fault.inside(f"kits[{place}]") for fault in wrong]
    refused = CaseFileError(path, faults) if faults else None
    if not kits and refused is not None:
        raise refused
    return Kits(tuple(kits.values()), head.currency, refused, tuple(doubted))


def _odd_heights(kit: Kit, heights: Sequence[float], units: Units) -> Iterator[Fault]:
    """Stacks too low or too tall for any adjuster, as those in another unit mostly are."""
    lowest, tallest = min(heights, default=0.0), max(heights, default=0.0)
    if unlikely_reach(lowest, tallest):
        low, high = length_text(lowest, units), length_text(tallest, units)
        yield Fault(
            "stack" if kit.shelf is None else "shelf",
            f"goes from {low} to {high}\n{ARE_UNITS_RIGHT}",
        )


def _head(path: str | PathLike[str], table: dict[str, Any]) -> KitsFile:
    try:
        return KitsFile.model_validate(table)
    except ValidationError as error:
        raise CaseFileError(path, faults_in(error, KitsFile)) from None


def _kit(row: object, units: Units) -> tuple[Kit | None, list[Fault], list[Fault]]:
    """Judge a row: the kit, what is wrong with it, and what looks odd."""
    try:
        kit = Kit.model_validate(row, context={"units": units})
    except ValidationError as error:
        return None, faults_in(error, Kit, list(row) if isinstance(row, dict) else []), []
    heights = [] if kit.stack is None else [kit.stack.min, kit.stack.max]
    if kit.shelf is not None:
        try:
            heights = [one.height for one in shelf_stacks(kit.shelf, kit.stack, units)]
        except PivotwrightError as error:
            return None, [Fault("shelf", f"must build fewer stacks: {error}")], []
        if not heights:
            no_stack = Fault("shelf", "must build a stack between stack.min and stack.max")
            return None, [no_stack], []
    return kit, list(grade_faults(kit.stud, units)), list(_odd_heights(kit, heights, units))
