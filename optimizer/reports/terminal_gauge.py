"""The report of `gauge`."""

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from optimizer.models.answer import Fact
from optimizer.models.gauge import GaugeResult, SideDifference, WheelGauge
from optimizer.models.lengths import WorthResult
from optimizer.models.remedies import (
    BetweenHeights,
    CurveShape,
    FromShelf,
    HeightError,
    HeldAgainstBand,
    LengthError,
)
from optimizer.reports.gauge_columns import (
    MOST_SHOWN,
    converted_columns,
    converted_sweeps,
    expected_columns,
    rows_kept,
    some_heights,
)
from optimizer.reports.how_sure_columns import how_sure_columns
from optimizer.reports.sketch import AFTER, AIM, BEFORE, sketch
from optimizer.reports.terminal_parts import (
    alignment_section,
    cautions_section,
    columns_table,
    heading,
    indented,
    rendered,
    section,
    table_of,
)
from optimizer.reports.terminal_what_to_read import readings_lines
from optimizer.wording.gauge_at_a_glance import asked_in_short, gauge_at_a_glance
from optimizer.wording.gauge_next import (
    AFTER_THAT,
    converted_in_words,
    figures,
    moves,
    what_next,
)
from optimizer.wording.headings import HEADINGS
from optimizer.wording.how_sure import HEADING, how_sure_in_words
from optimizer.wording.next_readings import next_reading_in_brief
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

REMEDIES = (CurveShape, HeightError, FromShelf, LengthError, BetweenHeights, HeldAgainstBand)
FEW = 7  # heights of a small drawing
MORE = (
    "More with --verbose: diagnosis, every row as toe, which points the readings move, how sure it "
    "was by tape and is now."
)
MORE_ROWS = "More with --verbose: every row as toe."


def gauge_report(result: GaugeResult, paths: list[str], *, every_row: bool = True) -> str:
    """Render what readings say of each wheel that was swept, and what to fit next."""
    reader, wheels = Reader(result.subject), result.wheels
    parts: list[RenderableType] = [
        heading(result.subject.name),
        Text(", ".join(paths), style="dim"),
        *(Text(sentence(one, reader)) for one in result.swept),
        *alignment_section(result.wheels, reader),
    ]
    for wheel in wheels:
        parts += _readings(wheel, reader)
        parts += _every_row(result, wheel, reader) if every_row else []
        parts += _after(wheel, reader) if wheel.expected and not wheel.fitted_points else []
    parts += _sides(result.sides, reader)
    parts += _questions("", result.questions, reader)
    for wheel in wheels:
        parts += _questions(_of(wheel, reader), wheel.questions, reader)
    for wheel in wheels:
        parts += _next(wheel, reader) if wheel.fitted_points else []
    parts += cautions_section(result.cautions, reader)
    return rendered(parts if every_row else [*parts, Text(f"\n{MORE_ROWS}", style="dim")])


def gauge_brief(result: GaugeResult, paths: list[str], *, quiet: bool = False) -> str:
    """Render what to fit next, the curves, and what the gauge should show; `quiet`, only what."""
    reader = Reader(result.subject)
    title = Text(result.subject.name, style="bold")
    first, *others = gauge_at_a_glance(result, reader)
    swept = [Text(sentence(one, reader)) for one in result.swept]
    verdict = [title, Text(", ".join(paths), style="dim"), *swept, Text(first, style="bold")]
    parts: list[RenderableType] = [*verdict, *map(Text, others)]
    if quiet:
        parts += [Text(told) for wheel in result.wheels for told in _remedies(wheel, reader)]
        return rendered([*parts, *map(Text, asked_in_short(result.asked, reader))])
    parts += [
        Text(reader.of_wheel(wheel.side) + next_reading_in_brief(wheel.next_readings, reader))
        for wheel in result.wheels
        if wheel.next_readings is not None
    ]
    parts += alignment_section(result.wheels, reader)
    parts += _sides(result.sides, reader)
    parts += _questions("", result.asked, reader)
    for wheel in result.wheels:
        parts.append(heading(f"Toe change{_of(wheel, reader)}"))
        read = [figures(wheel.measured, reader)] if wheel.fitted_points else []
        parts += map(indented, [*read, *_drawing(wheel, reader, FEW)])
        if wheel.next is not None:
            columns = expected_columns(wheel, reader)
            parts += [
                heading("The gauge should then show"),
                columns_table(columns),
            ]
    parts += [*cautions_section(result.cautions, reader), Text(f"\n{MORE}", style="dim")]
    return rendered(parts)


def _remedies(wheel: WheelGauge, reader: Reader) -> list[str]:
    """Say what is wrong with a curve and what cures it, where no points tell what to fit."""
    told = () if wheel.fitted_points else wheel.diagnosis
    return [
        f"{reader.of_wheel(wheel.side)}{sentence(one, reader)}"
        for one in told
        if isinstance(one, REMEDIES)
    ]


def _of(wheel: WheelGauge, reader: Reader) -> str:
    """Name a wheel in a heading, where both were measured."""
    return f" of the {wheel.side} wheel" if reader.subject.both_wheels else ""


def _readings(wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    told = [figures(wheel.measured, reader), *(sentence(one, reader) for one in wheel.diagnosis)]
    return [
        heading(f"{HEADINGS['read']}{_of(wheel, reader)}"),
        *(indented(text) for text in [*told, *_drawing(wheel, reader)]),
        *(indented(sentence(one, reader)) for one in wheel.read_beside),
    ]


def _every_row(result: GaugeResult, wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    """Tabulate what was read as toe."""
    return [
        part
        for sweep, rows in converted_sweeps(result, wheel)
        for part in (
            indented(converted_in_words(sweep, rows, reader)),
            columns_table(converted_columns(sweep, rows, reader)),
        )
    ]


def _after(wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    """Tabulate what to expect of a car without points."""
    expected = columns_table(expected_columns(wheel, reader))
    return [indented(AFTER_THAT), expected]


def _questions(of: str, asked: Sequence[Fact], reader: Reader) -> list[RenderableType]:
    return section(f"{HEADINGS['questions']}{of}", [f"- {sentence(one, reader)}" for one in asked])


def _drawing(wheel: WheelGauge, reader: Reader, most: int = MOST_SHOWN) -> list[str]:
    """Draw what was read, and beside it what to expect where a next stack is known."""
    rows = rows_kept(wheel.measured)
    home = rows[min(rows, key=abs)]
    read = {travel: rows[travel] - home for travel in some_heights(list(rows), most)}
    coming = {row.travel_mm: row.toe_change_deg for row in wheel.expected}
    after = [coming[round(travel, 6)] for travel in read if round(travel, 6) in coming]
    key, pairs = f"{BEFORE} read", None
    if len(after) == len(read):
        key, pairs = f"{BEFORE} read, {AFTER} expected next", after
    wanted = dict(zip(wheel.measured.travel_mm, wheel.measured.wanted_deg, strict=True))
    aim = [wanted[travel] for travel in read] if any(wanted.values()) else None
    key += "" if aim is None else f", {AIM} wanted"
    widest = max(abs(x) for x in [*read.values(), *(pairs or []), *(aim or [])])
    return [
        f"{key}; toe-out left, toe-in right, full width "
        f"±{reader.toe_with_unit(widest)}; travel in {reader.long_units}",
        *sketch([reader.length(x, signed=True) for x in read], list(read.values()), pairs, aim),
    ]


def _sides(sides: SideDifference | None, reader: Reader) -> list[RenderableType]:
    if sides is None:
        return []
    first = reader.subject.sides[0]
    this = f"The {first} wheel" if reader.subject.both_wheels else "This wheel"
    columns = {
        f"travel\n{reader.subject.units}": [reader.length(x, signed=True) for x in sides.travel_mm],
        f"mean of both\n{reader.short_toe_unit}": list(map(reader.toe, sides.mean_toe_change_deg)),
        f"half difference\n{reader.short_toe_unit}": list(
            map(reader.toe, sides.half_difference_deg)
        ),
    }
    return [
        heading(f"{this} and the {sides.other} one"),
        table_of({title: cells[::-1] for title, cells in columns.items()}),
    ]


def _next(wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    lines = [*moves(wheel.moved, reader), *what_next(wheel, reader)]
    table: list[RenderableType] = []
    if wheel.next is not None:
        table = [
            indented("The gauge should then show:"),
            columns_table(expected_columns(wheel, reader)),
        ]
    more = wheel.next_readings
    read: list[RenderableType] = []
    if more is not None:
        told = readings_lines(more, reader)
        read = [heading(f"What to read next{_of(wheel, reader)}"), *told]
    title = heading(f"What to fit next{_of(wheel, reader)}")
    return [title, *map(indented, lines), *table, *_how_sure(wheel, reader), *read]


def _how_sure(wheel: WheelGauge, reader: Reader) -> list[RenderableType]:
    """Tell what the readings made of the promise; nothing where they contradict the points."""
    if wheel.next is None or wheel.how_sure is None or wheel.contradictory:
        return []
    columns = how_sure_columns(wheel.how_sure, wheel.next.tolerance_deg, reader)
    return [
        heading(f"{reader.of_wheel(wheel.side)}{HEADING}"),
        columns_table(columns),
        *map(indented, how_sure_in_words(wheel.how_sure, reader)),
    ]


def worth_report(result: WorthResult) -> str:
    """Render what each height is worth."""
    reader = Reader(result.subject)
    return rendered(
        [
            heading(result.subject.name),
            heading("What a shim is worth"),
            *(indented(sentence(one, reader)) for one in result.worth),
            *cautions_section(result.cautions, reader),
        ]
    )
