"""The report of `gauge`."""

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from optimizer.models.answer import Fact
from optimizer.models.gauge import GaugeResult, Measured, SideDifference, WheelGauge
from optimizer.reports.sketch import AFTER, BEFORE, sketch
from optimizer.reports.terminal_parts import (
    alignment_section,
    cautions_section,
    heading,
    indented,
    rendered,
    table_of,
)
from optimizer.wording.gauge_next import (
    AFTER_THAT,
    GUESS,
    NOTHING_FITS,
    converted_in_words,
    figures,
    moves,
    promise,
)
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

MOST_SHOWN = 41  # heights; a logger writes thousands
NUMBER_DECIMALS = {"mm": 2, "in": 3, "deg": 3, "min": 1}


def gauge_report(result: GaugeResult, paths: list[str]) -> str:
    """Render what readings say of each wheel that was swept, and what to fit next."""
    reader, wheels = Reader(result.subject), result.wheels
    parts: list[RenderableType] = [
        heading(result.subject.name),
        Text(", ".join(paths), style="dim"),
        *(Text(sentence(one, reader)) for one in result.swept),
        *alignment_section([(wheel.side, wheel.alignment) for wheel in wheels], reader),
    ]
    for wheel in wheels:
        parts += _readings(wheel, reader)
    if result.sides is not None:
        parts += _sides(result.sides, reader)
    parts += _questions("Questions about the readings", result.questions, reader)
    for wheel in wheels:
        title = f"Questions about the readings{_of(wheel, reader)}"
        parts += _questions(title, wheel.questions, reader)
    for wheel in wheels:
        parts += _next(wheel, reader) if wheel.fitted_points else []
    return rendered([*parts, *cautions_section(result.cautions, reader)])


def _of(wheel: WheelGauge, reader: Reader) -> str:
    """Name a wheel in a heading, where both were measured."""
    return f" of the {wheel.side} wheel" if reader.subject.both_wheels else ""


def _readings(wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    told = [figures(wheel.measured, reader), *(sentence(one, reader) for one in wheel.diagnosis)]
    return [
        heading(f"What the gauge says{_of(wheel, reader)}"),
        *(indented(text) for text in [*told, *_drawing(wheel, reader)]),
        indented(converted_in_words(wheel.measured, reader)),
        _converted(wheel, reader),
        *(_after(wheel, reader) if wheel.expected and not wheel.fitted_points else []),
    ]


def _after(wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    """Tabulate what to expect of a car without points."""
    return [indented(AFTER_THAT), _expected(wheel, reader)]


def _converted(wheel: WheelGauge, reader: Reader) -> RenderableType:
    """Tabulate rows as read and as toe; of very many, as many as are drawn."""
    shows, step = wheel.gauge_shows, -(-len(wheel.converted) // MOST_SHOWN)
    rows = wheel.converted[::step]
    marks = ["*" if row.left_out else "" for row in rows]
    decimals = NUMBER_DECIMALS[shows.unit]
    columns = {
        f"travel\n{reader.subject.units}": [reader.length(x.travel_mm, signed=True) for x in rows],
        f"{shows.name}\n{shows.unit}": [reader.signed(x.gauge, decimals) for x in rows],
        f"toe change\n{reader.toe_unit}": [reader.toe(x.toe_change_deg) for x in rows],
    }
    return table_of({**columns, "\n": marks} if any(marks) else columns)


def _questions(title: str, asked: Sequence[Fact], reader: Reader) -> list[RenderableType]:
    lines = [indented(f"- {sentence(one, reader)}") for one in asked]
    return [heading(title), *lines] if lines else []


def some_heights(heights: list[float]) -> list[float]:
    """At most `MOST_SHOWN` heights of many, the lowest first: both ends, ride height and others."""
    if len(heights) <= MOST_SHOWN:
        return heights
    step = (heights[-1] - heights[0]) / (MOST_SHOWN - 2)
    wanted = [0.0, *(heights[0] + k * step for k in range(MOST_SHOWN - 1))]
    return sorted({min(heights, key=lambda height: abs(height - near)) for near in wanted})


def _rows_kept(measured: Measured) -> dict[float, float]:
    """Toe at each height, the lowest first: the first row there that doesn't stand apart."""
    found: dict[float, float] = {}
    rows = zip(measured.travel_mm, measured.toe_deg, strict=True)
    for number, (travel, toe) in enumerate(rows, start=1):
        if number not in measured.rows_left_out:
            found.setdefault(travel, toe)
    return dict(sorted(found.items()))


def _drawing(wheel: WheelGauge, reader: Reader) -> list[str]:
    """Draw what was read, and beside it what to expect where a next stack is known."""
    rows = _rows_kept(wheel.measured)
    home = rows[min(rows, key=abs)]
    read = {travel: rows[travel] - home for travel in some_heights(list(rows))}
    coming = {row.travel_mm: row.toe_change_deg for row in wheel.expected}
    after = [coming[round(travel, 6)] for travel in read if round(travel, 6) in coming]
    key, pairs = f"{BEFORE} read", None
    if len(after) == len(read):
        key, pairs = f"{BEFORE} read, {AFTER} expected next", after
    widest = max(abs(x) for x in [*read.values(), *(pairs or [])])
    return [
        f"{key}; toe-out to the left, toe-in to the right, full width "
        f"±{reader.toe_with_unit(widest)}; travel in {reader.subject.units}",
        *sketch([reader.length(x, signed=True) for x in read], list(read.values()), pairs),
    ]


def _sides(sides: SideDifference, reader: Reader) -> list[RenderableType]:
    first = reader.subject.sides[0]
    this = f"The {first} wheel" if reader.subject.both_wheels else "This wheel"
    columns = {
        f"travel\n{reader.subject.units}": [reader.length(x, signed=True) for x in sides.travel_mm],
        f"mean of both\n{reader.short_toe_unit}": list(map(reader.toe, sides.mean_toe_change_deg)),
        f"half difference\n{reader.short_toe_unit}": list(
            map(reader.toe, sides.half_difference_deg)
        ),
    }
    return [heading(f"{this} and the {sides.other} one"), table_of(_highest_first(columns))]


def _next(wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    lines = moves(wheel.moved, reader)
    lines += [GUESS] if wheel.contradictory else []
    lines += [NOTHING_FITS] if wheel.next is None else promise(wheel.next, reader)
    table: list[RenderableType] = []
    if wheel.next is not None:
        table = [indented("The gauge should then show:"), _expected(wheel, reader)]
    return [heading(f"What to fit next{_of(wheel, reader)}"), *map(indented, lines), *table]


def _expected(wheel: WheelGauge, reader: Reader) -> RenderableType:
    shows = wheel.gauge_shows
    shown = some_heights([row.travel_mm for row in wheel.expected])
    rows = [row for row in wheel.expected if row.travel_mm in shown]
    decimals = NUMBER_DECIMALS[shows.unit]
    columns = {
        f"travel\n{reader.subject.units}": [reader.length(x.travel_mm, signed=True) for x in rows],
        f"toe change\n{reader.short_toe_unit}": [reader.toe(x.toe_change_deg) for x in rows],
        f"{shows.name}, zero at ride height\n{shows.unit}": [
            reader.signed(x.gauge, decimals) for x in rows
        ],
    }
    return table_of(_highest_first(columns))


def _highest_first(columns: dict[str, list[str]]) -> dict[str, list[str]]:
    return {title: cells[::-1] for title, cells in columns.items()}
