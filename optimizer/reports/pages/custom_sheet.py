"""Pivots made to measure on a sheet of their own, with tables and notes: SVG, or DXF full size."""

from collections.abc import Sequence
from io import StringIO
from textwrap import wrap

from optimizer.errors import PivotwrightError
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.suggest import SuggestResult
from optimizer.reports.pages.custom_drawing import Flat, View, custom_figures
from optimizer.reports.pages.parts import Figure, rendered
from optimizer.wording.custom_drawing import drawing_notes, drawing_title
from optimizer.wording.reader import Reader

CROSS, CIRCLE, LETTER = 2.0, 1.0, 2.5  # half of a cross, radius, height of text [mm]
LAYERS = {"PLACE": 7, "ROOM": 8, "PIVOT": 1, "TEXT": 3}


def drawing_dxf(title: str, figures: Sequence[Figure], notes: Sequence[str]) -> str:
    """Draw every pivot in millimeters, 1 to 1, a view beside the other.

    Raises
    ------
    PivotwrightError
        The package that writes DXF is not there.
    """
    try:
        import ezdxf
        from ezdxf.document import Drawing
    except ImportError:
        raise PivotwrightError(
            "--drawing: a DXF needs one package more, pip install 'pivotwright[dxf]'; "
            "an .svg needs none"
        ) from None
    document = Drawing.new("R2010")
    document.units = ezdxf.units.MM
    for name, color in LAYERS.items():
        document.layers.add(name, color=color)
    space, down = document.modelspace(), 0.0

    def text(words: str, at: Flat) -> None:
        space.add_text(words, height=LETTER, dxfattribs={"layer": "TEXT"}).set_placement(at)

    def cross(at: Flat, layer: str) -> None:
        x, y = at
        space.add_line((x - CROSS, y), (x + CROSS, y), dxfattribs={"layer": layer})
        space.add_line((x, y - CROSS), (x, y + CROSS), dxfattribs={"layer": layer})

    def view(one: View, middle: Flat) -> None:
        x, y = middle
        cross(middle, "PLACE")
        if one.room is not None:
            (a, b), (c, d) = one.room
            corners = [(x + a, y + b), (x + c, y + b), (x + c, y + d), (x + a, y + d)]
            space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "ROOM"})
        pivot = (x + one.pivot[0], y + one.pivot[1])
        cross(pivot, "PIVOT")
        space.add_circle(pivot, CIRCLE, dxfattribs={"layer": "PIVOT"})

    text(title, (0.0, 3.0 * LETTER))
    for figure in figures:
        half = figure.drawing.half
        text(figure.caption, (0.0, down))
        for k, one in enumerate(figure.drawing.views):
            middle = ((2 * k + 1) * (half + 4.0 * LETTER), down - half - 4.0 * LETTER)
            view(one, middle)
            left, foot = middle[0] - half, middle[1] - half
            text(one.name, (left, middle[1] + half + LETTER))
            text(f"{one.across}; {one.up}", (left, foot - 1.5 * LETTER))
        down -= 2.0 * half + 8.0 * LETTER
        for row in [figure.table.titles, *figure.table.rows] if figure.table else []:
            text("   ".join(row), (0.0, down))
            down -= 1.6 * LETTER
        down -= 3.0 * LETTER
    for note in notes:
        text(note, (0.0, down))
        down -= 1.6 * LETTER
    out = StringIO()
    document.write(out)
    return out.getvalue()


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
