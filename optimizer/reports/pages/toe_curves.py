"""Toe against travel: travel upward, toe-in to the right, as on a gauge sheet."""

from collections.abc import Sequence

from msgspec import Struct

from optimizer.models.pictures import TapeBand, WheelPictures
from optimizer.reports.pages.parts import Figure, Table
from optimizer.reports.pages.scale import Scale, Tick, path
from optimizer.reports.pages.trial import Trial, trial_of
from optimizer.wording.headings import TOE_CURVES
from optimizer.wording.pages import TAPE_BAND, across, alt_of_curves, upward
from optimizer.wording.reader import Reader

WIDTH, HEIGHT = 360.0, 330.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 350.0, 8.0, 286.0
ROOM = 1.08  # times the largest toe change
STYLES = ("first", "second", "third", "fourth", "fifth")
BAND_SHARE = 1.6  # of what the curves take, that a band may widen the drawing to


class Curve(Struct, frozen=True):
    """A curve to draw, toe change in degrees; None out of reach."""

    name: str
    style: str
    travel_mm: Sequence[float]
    toe_change_deg: Sequence[float | None]


class Line(Struct, frozen=True):
    """A curve as drawn."""

    name: str
    style: str
    path: str


class ToePlot(Struct, frozen=True):
    """A drawing of toe curves; `band` is the tape's, `tolerance` the two ends of what is wanted."""

    lines: list[Line]
    band: str
    band_name: str
    tolerance: tuple[float, float] | None
    tolerance_name: str
    across: list[Tick]
    upward: list[Tick]
    across_title: str
    upward_title: str
    toe_scale: Scale
    travel_scale: Scale
    trial: Trial | None = None
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


def toe_figure(
    name: str,
    curves: Sequence[Curve],
    reader: Reader,
    *,
    tolerance_deg: float | None = None,
    tape: TapeBand | None = None,
    band_name: str = TAPE_BAND,
    caption: str = TOE_CURVES,
    tried: WheelPictures | None = None,
) -> Figure:
    """Draw toe curves, with the numbers behind them; `tried` is what sliders may show beside."""
    toe, travel = _scales(curves, reader, tolerance_deg, tape)

    def at(height_mm: float, toe_deg: float | None) -> tuple[float, float] | None:
        if toe_deg is None:
            return None
        return toe(reader.toe_in_units(toe_deg)), travel(reader.in_units(height_mm))

    band = [] if tape is None else _outline(tape)
    plot = ToePlot(
        lines=[
            Line(curve.name, curve.style, path(map(at, curve.travel_mm, curve.toe_change_deg)))
            for curve in curves
        ],
        band=path(at(*point) for point in band),
        band_name="" if tape is None else band_name,
        tolerance=None
        if tolerance_deg is None
        else (toe(-reader.toe_in_units(tolerance_deg)), toe(reader.toe_in_units(tolerance_deg))),
        tolerance_name=""
        if tolerance_deg is None
        else f"wanted within {reader.toe_with_unit(tolerance_deg)}",
        across=toe.ticks(),
        upward=travel.ticks(8),
        across_title=across(reader),
        upward_title=upward(reader),
        toe_scale=toe,
        travel_scale=travel,
        trial=None if tried is None else trial_of(tried, reader, toe, travel),
    )
    return Figure(
        "toe_curves.svg",
        name,
        caption,
        alt_of_curves([(curve.name, _peak(curve)) for curve in curves], reader),
        plot,
        _numbers(curves, reader),
    )


def _outline(tape: TapeBand) -> list[tuple[float, float]]:
    """Around a band, up one side and down the other."""
    up = list(zip(tape.travel_mm, tape.low_deg, strict=True))
    return [*up, *reversed(list(zip(tape.travel_mm, tape.high_deg, strict=True)))]


def _scales(
    curves: Sequence[Curve], reader: Reader, tolerance_deg: float | None, tape: TapeBand | None
) -> tuple[Scale, Scale]:
    drawn = [abs(x) for curve in curves for x in curve.toe_change_deg if x is not None]
    most = max([*drawn, 1.5 * (tolerance_deg or 0.0), 1e-3])
    if tape is not None:
        widest = max(abs(x) for x in [*tape.low_deg, *tape.high_deg])
        most = max(most, min(widest, BAND_SHARE * most))
    toe = reader.toe_in_units(ROOM * most)
    heights = [reader.in_units(x) for curve in curves for x in curve.travel_mm]
    low, high = min(heights), max(heights)
    spare = 0.02 * (high - low or 1.0)
    return (
        Scale(-toe, toe, LEFT, RIGHT),
        Scale(low - spare, high + spare, BOTTOM, TOP),
    )


def _numbers(curves: Sequence[Curve], reader: Reader) -> Table:
    heights = sorted({x for curve in curves for x in curve.travel_mm}, reverse=True)
    found = [dict(zip(curve.travel_mm, curve.toe_change_deg, strict=True)) for curve in curves]
    return Table(
        titles=[
            f"travel, {reader.subject.units}",
            *(f"{curve.name}, {reader.short_toe_unit}" for curve in curves),
        ],
        rows=[
            [
                reader.length(height, signed=True),
                *("-" if (x := one.get(height)) is None else reader.toe(x) for one in found),
            ]
            for height in heights
        ],
    )


def _peak(curve: Curve) -> float | None:
    found = [abs(x) for x in curve.toe_change_deg if x is not None]
    return max(found, default=None)
