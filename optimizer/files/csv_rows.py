"""Rows of a CSV file as spreadsheets write it: with commas, semicolons or tabs, headed or not."""

import csv
from pathlib import Path

from optimizer.errors import CaseFileError, Fault
from optimizer.files.toml_file import LARGEST_FILE, file_text

MINUS_SIGNS = str.maketrans("\u2212\u2013", "--")  # as word processors write them


def csv_rows(path: Path, *, largest: int = LARGEST_FILE) -> list[tuple[int, list[str]]]:
    """Lines that hold something, as cells without the space about them, with their numbers.

    Comments behind # and empty cells at the end of a line are left out.  Where the cells stand
    between semicolons or tabs, a comma in a number is its decimal point.

    Raises
    ------
    CaseFileError
        The file can't be read, or quotes in it are not closed.
    """
    lines = file_text(path, largest=largest).splitlines()
    filled = [
        (number, line)
        for number, line in enumerate(lines, start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    mark = next((mark for mark in ";\t" if _stands_on_most(mark, filled)), ",")
    rows = [(number, _cells(path, number, line, mark)) for number, line in filled]
    return [(number, cells) for number, cells in rows if cells]


def _stands_on_most(mark: str, lines: list[tuple[int, str]]) -> bool:
    return 2 * sum(mark in line for _, line in lines) > len(lines)


def _cells(path: Path, number: int, line: str, mark: str) -> list[str]:
    try:
        (cells,) = csv.reader([line], delimiter=mark, strict=True)
    except csv.Error as error:
        raise CaseFileError(path, [Fault(f"line {number}", f"is not CSV: {error}")]) from None
    cells = [cell.strip().translate(MINUS_SIGNS) for cell in cells]
    while cells and not cells[-1]:
        cells.pop()
    return [cell if mark == "," else _with_point(cell) for cell in cells]


def _with_point(cell: str) -> str:
    pointed = cell.replace(",", ".")
    return pointed if is_number(pointed) else cell


def is_number(cell: str) -> bool:
    """Whether a cell holds a number."""
    try:
        float(cell)
    except ValueError:
        return False
    return True


def harmless(text: str) -> str:
    """A text as a cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@")) else text
