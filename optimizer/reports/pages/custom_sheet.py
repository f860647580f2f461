"""Pivots made to measure on a sheet of their own, with tables and notes: SVG, or DXF full size."""

from textwrap import wrap

from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.suggest import SuggestResult
from optimizer.reports.pages.custom_drawing import custom_figures
from optimizer.reports.pages.custom_dxf import drawing_dxf
from optimizer.reports.pages.parts import rendered
from optimizer.wording.custom_drawing import drawing_notes, drawing_title
from optimizer.wording.reader import Reader

LINE = 15.0  # of text
LETTERS = 98  # in a line of notes


def custom_svg(result: SuggestResult) -> str:
    """Draw every pivot of an answer that has one, one below another."""
    pivot, reader = _custom(result), Reader(result.subject)
    return rendered(
        "custom_sheet.svg",
        title=drawing_title(result),
        figures=custom_figures(pivot, reader),
        notes=_lines(drawing_notes(pivot, result, reader)),
        line=LINE,
    )


def custom_dxf(result: SuggestResult) -> str:
    """Draw them in millimeters, 1 to 1."""
    pivot, reader = _custom(result), Reader(result.subject)
    notes = _lines(drawing_notes(pivot, result, reader))
    return drawing_dxf(drawing_title(result), custom_figures(pivot, reader), notes)


def _lines(notes: list[str]) -> list[str]:
    return [line for note in notes for line in wrap(note, LETTERS)]


def _custom(result: SuggestResult) -> CustomPivot:
    assert result.custom is not None
    return result.custom
