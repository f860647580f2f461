"""A pivot made to measure as DXF, full size, for the machine shop: ezdxf writes the format."""

from collections.abc import Sequence
from io import StringIO

from optimizer.errors import PivotwrightError
from optimizer.reports.pages.custom_drawing import Flat, View
from optimizer.reports.pages.parts import Figure

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
