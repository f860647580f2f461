"""The short report of `suggest`: the verdict, the ranking, a small curve, the cautions."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from optimizer.models.suggest import SuggestResult
from optimizer.reports.ranking_columns import columns_within
from optimizer.reports.tables import Column
from optimizer.reports.terminal_custom import custom_pivot_section
from optimizer.reports.terminal_parts import (
    alignment_section,
    bare_table,
    cautions_section,
    heading,
    indented,
    line_width,
    rendered,
    what_it_is,
)
from optimizer.reports.terminal_suggest import drawings
from optimizer.reports.terminal_what_to_read import what_to_read_section
from optimizer.wording.at_a_glance import at_a_glance
from optimizer.wording.chances import ranked_by_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.kits import kits_in_words
from optimizer.wording.ranking import refusals_in_words, unbeaten_in_words
from optimizer.wording.reader import Reader

EVERY = 4  # of the heights that are scored, those that a small curve shows
MORE = "More with --verbose: readings to expect, definitions, proof, what else it changes."


def verdict_report(result: SuggestResult, case_path: str, kits_path: str | None = None) -> str:
    """Render the verdict alone."""
    return rendered(_verdict(result, (case_path, kits_path), Reader(result.subject)))


def brief_report(result: SuggestResult, case_path: str, kits_path: str | None = None) -> str:
    """Render the verdict, then what it was chosen from."""
    reader = Reader(result.subject)
    columns, numbered = columns_within(line_width(), result, reader)
    kits = kits_in_words(result.kits, result.currency, numbered=numbered)
    return rendered(
        [
            *_verdict(result, (case_path, kits_path), reader),
            *alignment_section(result.wheels, reader),
            heading(HEADINGS["ranking"]),
            _ranking(result, columns),
            *(indented(text) for text in unbeaten_in_words(result)),
            *(indented(text) for text in ranked_by_in_words(result, reader)),
            *map(indented, kits),
            *(indented(text) for text in _refusals(result, reader)),
            *custom_pivot_section(result, reader),
            *what_to_read_section(result.what_to_read, reader),
            *drawings(result, reader, EVERY),
            *cautions_section(result.cautions, reader),
            Text(f"\n{MORE}", style="dim"),
        ]
    )


def _verdict(
    result: SuggestResult, files: tuple[str, str | None], reader: Reader
) -> list[RenderableType]:
    first, *others = at_a_glance(result, files, reader)
    title = Text(result.subject.name, style="bold")
    return [
        title,
        what_it_is(result.subject, files[0], result.as_is.lowered_by_mm),
        Text(first, style="bold"),
        *_texts(others),
    ]


def _refusals(result: SuggestResult, reader: Reader) -> Iterator[str]:
    """What stops each option, where nothing fits; else a word in the table says enough."""
    if result.first is None:
        yield from (text for row in result.ranked for text in refusals_in_words(row, reader))


def _texts(lines: list[str]) -> Iterator[Text]:
    yield from map(Text, lines)


def _ranking(result: SuggestResult, columns: list[Column]) -> Padding:
    table = bare_table()
    for column in columns:
        numbers = column.justify == "right"  # never cut short; a kit's name takes more lines
        table.add_column(column.title, justify=column.justify, no_wrap=numbers, overflow="fold")
    for row, cells in zip(
        result.ranked, zip(*(column.cells for column in columns), strict=True), strict=True
    ):
        table.add_row(*cells, style="" if row.fits else "dim")
    return Padding(table, (0, 0, 0, 2))
