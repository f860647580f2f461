"""The report of `suggest`."""

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from optimizer.models.setting import Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.reports.chances_columns import chances_columns
from optimizer.reports.ranking_columns import ranking_columns
from optimizer.reports.readings_columns import readings_columns
from optimizer.reports.side_effect_rows import side_effect_rows
from optimizer.reports.sketch import AFTER, AIM, BEFORE, sketch
from optimizer.reports.terminal_custom import custom_pivot_section
from optimizer.reports.terminal_parts import (
    alignment_section,
    bare_table,
    cautions_section,
    columns_table,
    heading,
    indented,
    rendered,
    section,
    table_of,
    what_it_is,
)
from optimizer.reports.terminal_what_to_read import what_to_read_section
from optimizer.wording.chances import (
    cars_in_words,
    limits_kept,
    ranked_by_in_words,
    sureness_in_words,
)
from optimizer.wording.check import doubted_in_words
from optimizer.wording.comparison import comparison_in_words
from optimizer.wording.diagnosis import what_it_does
from optimizer.wording.headings import HEADINGS, TOE_CURVES
from optimizer.wording.kits import kits_in_words, shim_in_words
from optimizer.wording.ranking import (
    NOTHING_FITS,
    first_in_words,
    proof_in_words,
    refusals_in_words,
    unbeaten_in_words,
)
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.spaced_compared import NOTE, TITLE, part_cells
from optimizer.wording.steps import next_steps
from optimizer.wording.stud import strength_in_words


def side_effects_section(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render what the first setting that changes anything does beside the toe curve."""
    if result.side_effects_of is None:
        return []
    columns, unchanged, meanings = side_effect_rows(result, reader)
    whole = int(reader.subject.both_wheels)  # wide tables wrap the units
    return [
        heading("What else it changes"),
        columns_table(columns, whole=whole),
        *(indented(text) for text in [*unchanged, *meanings]),
    ]


def ranking_table(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render one row an option, with what stops those that don't fit."""
    both, columns = reader.subject.both_wheels, ranking_columns(result, reader)
    table = bare_table()
    for column in columns:
        table.add_column(column.title, justify=column.justify)
    for k, row in enumerate(result.ranked):
        table.add_row(*(column.cells[k] for column in columns), style="" if row.fits else "dim")
        for reason in () if both else row.reasons:
            table.add_row("", Text(f"no: {sentence(reason, reader)}", style="red"))
    below = [indented(x) for row in result.ranked if both for x in refusals_in_words(row, reader)]
    return [Padding(table, (0, 0, 0, 2)), *below]


def spaced_parts_section(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Compare the parts of each wheel; nothing where none is to be chosen."""
    parts: list[RenderableType] = []
    for wheel in result.wheels:
        if wheel.spaced_parts:
            rows = [part_cells(one, reader) for one in wheel.spaced_parts]
            columns = {title: [row[title] for row in rows] for title in rows[0]}
            title = TITLE.format(wheel=reader.of_wheel(wheel.side))
            parts += [heading(title), table_of(columns), indented(NOTE)]
    return parts


Parts = Iterator[RenderableType]


def suggest_report(result: SuggestResult, case_path: str) -> str:
    """Render the ranked answer."""
    reader, first = Reader(result.subject), result.first
    return rendered(
        [
            heading(result.subject.name),
            what_it_is(result.subject, case_path, result.as_is.lowered_by_mm),
            Text(f"\n{sentence(result.verdict, reader)}", style="bold"),
            *map(Text, doubted_in_words(result.doubted, case_path, reader)),
            *alignment_section(result.wheels, reader),
            *_now(result, reader),
            *section(HEADINGS["compared"], comparison_in_words(result.comparison, reader)),
            heading(HEADINGS["ranking"]),
            *ranking_table(result, reader),
            *(indented(text) for text in _below_the_ranking(result, reader)),
            *_chances(result, reader),
            *drawings(result, reader),
            *spaced_parts_section(result, reader),
            *side_effects_section(result, reader),
            *custom_pivot_section(result, reader),
            *what_to_read_section(result.what_to_read, reader),
            *([indented(NOTHING_FITS)] if first is None else _work(first, result, reader)),
        ]
    )


def _now(result: SuggestResult, reader: Reader) -> Parts:
    for wheel, now in zip(result.wheels, result.as_is.wheels, strict=True):
        one = f"{wheel.side} wheel" if reader.subject.both_wheels else "car"
        told = list(what_it_does(wheel, now, result, reader))
        yield from section(f"What the {one} does now", told)


def _below_the_ranking(result: SuggestResult, reader: Reader) -> Iterator[str]:
    yield from unbeaten_in_words(result)
    yield from ranked_by_in_words(result, reader)
    for wheel in result.ranked[0].wheels:
        yield from first_in_words(wheel, reader)
    yield from kits_in_words(result.kits, result.currency)
    yield proof_in_words(result, reader)
    yield from (sureness_in_words(wheel, result, reader) for wheel in result.wheels)
    yield from limits_kept(result, reader)
    yield from shim_in_words(result, reader)


def _chances(result: SuggestResult, reader: Reader) -> Parts:
    if below := cars_in_words(result):
        yield heading(HEADINGS["chances"])
        yield columns_table(chances_columns(result, reader))
        yield from map(indented, below)


def drawings(result: SuggestResult, reader: Reader, every: int = 2) -> Parts:
    """Draw one wheel as it is and with number 1, of two both as they are, then with number 1.

    At `every` so many of the heights that are scored.
    """
    now = [wheel.curves.as_is_deg for wheel in result.wheels]
    best = [wheel.curves.best_deg for wheel in result.wheels if wheel.curves.best_deg is not None]
    if not reader.subject.both_wheels:
        yield heading(TOE_CURVES)
        after = f", {AFTER} number 1" if best else ""
        yield from _drawing(f"{BEFORE} now{after}", [*now, *best], result, reader, every)
        return
    yield heading(f"{TOE_CURVES}, left and right")
    yield from _drawing(
        f"Now: {BEFORE} left wheel, {AFTER} right wheel", now, result, reader, every
    )
    if best and best != now:
        key = f"With number 1: {BEFORE} left wheel, {AFTER} right wheel"
        yield from _drawing(key, best, result, reader, every)


def _drawing(
    key: str, curves: Sequence[list[float]], result: SuggestResult, reader: Reader, every: int
) -> Parts:
    """Draw one curve or two over the same travel."""
    travel, wanted = result.wheels[0].curves.travel_mm, result.wheels[0].curves.wanted_deg
    aim = wanted if any(wanted) else None
    curves = [[a + b for a, b in zip(curve, wanted, strict=True)] for curve in curves]
    width = max(abs(x) for y in [*curves, wanted] for x in y)
    wants = "" if aim is None else f", {AIM} wanted"
    yield indented(
        f"{key}{wants}; toe-out to the left, toe-in to the right, "
        f"full width ±{reader.toe_with_unit(width)}"
    )
    rows = [curve[::every] for curve in curves]
    labels = [reader.length(height, signed=True) for height in travel[::every]]
    lines = sketch(labels, rows[0], rows[1] if rows[1:] else None, aim and aim[::every])
    yield from map(indented, lines)


def _work(first: Ranked, result: SuggestResult, reader: Reader) -> Parts:
    """What to heed, to fit, and to read on the gauge afterwards."""
    yield from section("Stud and thread", list(strength_in_words(first, result, reader)))
    yield from cautions_section(result.cautions, reader)
    yield heading("What to do next")
    steps = next_steps(first, result, reader).values()
    yield from (indented(f"{k}. {step}") for k, step in enumerate(steps, start=1))
    yield Text("")
    yield columns_table(readings_columns(result, reader))
