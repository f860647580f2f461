"""A drawing by itself: the toe curves of an answer as SVG, or as PNG where that can be drawn."""

from collections.abc import Sequence
from importlib.util import find_spec

from msgspec import Struct

from optimizer.errors import PivotwrightError
from optimizer.reports.pages.parts import Figure, rendered

LINE = 18.0  # height of a line of the legend
TITLE = 26.0
GAP = 16.0
LETTER = 6.6  # width of a letter of the legend, about
NAMES_AT = 42.0  # where they begin, right of their line
ZOOM = 3  # pixels per unit of the drawing


class Placed(Struct, frozen=True):
    """A figure and where it stands; the legend has a line for each curve."""

    figure: Figure
    left: float


def plot_svg(figures: Sequence[Figure]) -> str:
    """Put figures of toe curves side by side into one drawing, the legend of each below it."""
    placed, left = [], 0.0
    for figure in figures:
        placed.append(Placed(figure, left))
        left += _width(figure) + GAP
    rows = max(len(_legend(figure)) for figure in figures)
    height = TITLE + max(figure.drawing.height for figure in figures) + rows * LINE + 10.0
    return rendered(
        "plot.svg", placed=placed, width=left - GAP, height=height, title=TITLE, line=LINE
    )


def _legend(figure: Figure) -> list[str]:
    plot = figure.drawing
    extra = [plot.tolerance_name] * (plot.tolerance is not None) + [plot.band_name] * bool(
        plot.band
    )
    return [*(line.name for line in plot.lines), *extra]


def _width(figure: Figure) -> float:
    """Width of a figure with the longest name below it."""
    plot = figure.drawing
    longest = max(map(len, _legend(figure)))
    return float(max(plot.width, plot.left + NAMES_AT + LETTER * longest))


def refuse_png() -> None:
    """Stop where the package that draws a PNG is not there; PivotwrightError names it."""
    if find_spec("resvg_py") is None:
        raise PivotwrightError(
            "--plot: a PNG needs one package more, pip install 'pivotwright[png]'; "
            "an .svg needs none"
        )


def plot_png(svg: str) -> bytes:
    """Draw an SVG as PNG.

    Raises
    ------
    PivotwrightError
        The package that does it is not there.
    """
    refuse_png()
    from resvg_py import svg_to_bytes

    return bytes(svg_to_bytes(svg_string=svg, background="white", zoom=ZOOM))
