"""Tilt or gap over travel and lock as a map of numbers, with the line where the limit is met."""

from typing import Any

from contourpy import contour_generator
from msgspec import Struct

from optimizer.models.pictures import LimitMap
from optimizer.reports.pages.parts import Figure, Table
from optimizer.reports.pages.scale import Scale, Tick, path, signed
from optimizer.units import MM_PER, Units
from optimizer.wording.pages import (
    alt_of_map,
    map_caption,
    rack_across,
    tints_in_words,
    upward,
)
from optimizer.wording.reader import Reader

WIDTH, HEIGHT = 360.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 350.0, 8.0, 256.0
NARROW = 90.0  # widest column, where there is no lock
SPARE_DEG = (0.0, 2.0, 5.0, 10.0)  # tints change at so much left to the limit
SPARE: dict[Units, tuple[float, ...]] = {
    "mm": (0.0, 2.0, 5.0, 10.0),
    "in": (0.0, 0.08, 0.2, 0.4),
}


class Cell(Struct, frozen=True):
    """A place of a map; its `tint` is 0 beyond the limit and 4 far from it."""

    x: float
    y: float
    width: float
    height: float
    tint: int
    label: str


class MapDrawing(Struct, frozen=True):
    """A map as drawn; `limit_line` is empty where the limit is met nowhere."""

    cells: list[Cell]
    limit_line: list[str]
    across: list[Tick]
    upward: list[Tick]
    across_title: str
    upward_title: str
    tints: str
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    bottom: float = BOTTOM


def map_figure(name: str, of: LimitMap, reader: Reader) -> Figure:
    """Draw one map, with its numbers."""
    per = MM_PER[reader.subject.units]
    racks, heights = ([x / per for x in xs] for xs in (of.rack_travel_mm, of.travel_mm))
    right = RIGHT if len(racks) > 1 else LEFT + NARROW
    across = _middles(racks, LEFT, right)
    upward_ = _middles(heights, BOTTOM, TOP)
    drawing = MapDrawing(
        cells=[
            _cell(of, i, j, across, upward_, reader)
            for j in range(len(heights))
            for i in range(len(racks))
        ],
        limit_line=_limit_line(of, racks, heights, across, upward_),
        across=[Tick(across(x), signed(x, _decimals(reader))) for x in racks[::2]],
        upward=[Tick(upward_(x), signed(x, _decimals(reader))) for x in heights[::2]],
        across_title=rack_across(reader) if len(racks) > 1 else "",
        upward_title=upward(reader),
        tints=tints_in_words(SPARE_DEG, SPARE[reader.subject.units], reader),
    )
    return Figure(
        "limit_map.svg",
        name,
        map_caption(of, reader),
        alt_of_map(of, reader),
        drawing,
        _numbers(of, reader),
    )


def _middles(places: list[float], start: float, end: float) -> Scale:
    """Scale that puts each place in the middle of its cell."""
    if len(places) == 1:
        return Scale(places[0] - 1.0, places[0] + 1.0, start, end)
    half = 0.5 * (places[1] - places[0])
    return Scale(places[0] - half, places[-1] + half, start, end)


def _cell(of: LimitMap, i: int, j: int, across: Scale, upward_: Scale, reader: Reader) -> Cell:
    per, value = MM_PER[reader.subject.units], of.values[j][i]
    width = (across.end - across.start) / len(of.rack_travel_mm)
    height = (upward_.start - upward_.end) / len(of.travel_mm)
    told = i % 2 == 0 and j % 2 == 0
    return Cell(
        x=round(across(of.rack_travel_mm[i] / per) - 0.5 * width, 2),
        y=round(upward_(of.travel_mm[j] / per) - 0.5 * height, 2),
        width=round(width, 2),
        height=round(height, 2),
        tint=_tint(of, value, reader.subject.units),
        label=_label(of, value, reader) if told else "",
    )


def _tint(of: LimitMap, value: float | None, units: Units) -> int:
    if value is None:
        return 0
    if of.kind == "tilt":
        return sum(of.limit - value >= least for least in SPARE_DEG)
    return sum(value - of.limit >= least * MM_PER[units] for least in SPARE[units])


def _label(of: LimitMap, value: float | None, reader: Reader) -> str:
    if value is None:
        return "-"
    if of.kind == "tilt":
        return f"{value:.1f}"
    return f"{value:.1f}" if reader.subject.units == "mm" else f"{value / MM_PER['in']:.2f}"


def _decimals(reader: Reader) -> int:
    return 0 if reader.subject.units == "mm" else 2


def _limit_line(
    of: LimitMap, racks: list[float], heights: list[float], across: Scale, upward_: Scale
) -> list[str]:
    values = [[x for x in row if x is not None] for row in of.values]
    if len(racks) < 2 or any(len(row) < len(racks) for row in values):
        return []
    lines: list[Any] = list(contour_generator(racks, heights, values).lines(of.limit))
    return [path((across(x), upward_(y)) for x, y in line.tolist()) for line in lines]


def _numbers(of: LimitMap, reader: Reader) -> Table:
    units = reader.subject.units
    return Table(
        titles=[f"travel, {units}", *(reader.length(x, signed=True) for x in of.rack_travel_mm)],
        rows=[
            [reader.length(height, signed=True), *(_label(of, x, reader) for x in row)]
            for height, row in zip(of.travel_mm[::-1], of.values[::-1], strict=True)
        ],
    )
