"""The report of `curve`."""

from rich.console import RenderableType

from optimizer.models.curve import CurveResult
from optimizer.reports.curve_columns import curve_columns, laid_over_columns
from optimizer.reports.terminal_parts import (
    alignment_section,
    columns_table,
    heading,
    indented,
    rendered,
    section,
)
from optimizer.wording.comparison import comparison_in_words
from optimizer.wording.curves import LAID_OVER, lengths_in_words, notes_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


def curve_report(result: CurveResult) -> str:
    """Render the curves as a table, bump of the first wheel first."""
    reader = Reader(result.subject)
    return rendered(
        [
            heading(result.subject.name),
            *alignment_section(result.wheels, reader),
            indented(sentence(result.setting, reader)),
            indented(lengths_in_words(result, reader)),
            *([columns_table(curve_columns(result, reader))] if result.goes_there else []),
            *_laid_over(result, reader),
            *(indented(note) for note in notes_in_words(result, reader)),
            *section(HEADINGS["compared"], comparison_in_words(result.comparison, reader)),
        ]
    )


def _laid_over(result: CurveResult, reader: Reader) -> list[RenderableType]:
    """A table for each wheel, where other curves were asked for too."""
    if not result.others:
        return []
    tables = (laid_over_columns(result, wheel.side, reader) for wheel in result.wheels)
    named = [f"{reader.of_wheel(wheel.side)}{LAID_OVER}" for wheel in result.wheels]
    return [
        part
        for name, columns in zip(named, tables, strict=True)
        for part in (heading(name), columns_table(columns))
    ]
