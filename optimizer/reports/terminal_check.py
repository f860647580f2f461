"""The report of `check`."""

from rich.console import RenderableType
from rich.padding import Padding

from optimizer.models.check import CheckResult
from optimizer.reports.terminal_parts import (
    bare_table,
    heading,
    indented,
    rendered,
    section,
    what_it_is,
)
from optimizer.reports.terminal_what_to_read import what_to_read_section
from optimizer.wording.alignment import alignment_in_words
from optimizer.wording.check import doubts_in_words, figures_in_words, no_doubt
from optimizer.wording.comparison import comparison_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.reader import Reader


def check_report(result: CheckResult, case_path: str) -> str:
    """Render what a case says, every doubt about it, and how two wheels differ."""
    reader = Reader(result.subject)
    parts: list[RenderableType] = [
        heading(result.subject.name),
        what_it_is(result.subject, case_path),
        _figures(result, reader),
    ]
    parts += section("The wanted alignment", alignment_in_words(result.wheels, reader))
    doubts = doubts_in_words(result, reader)
    parts += section(f"Worth a second look ({len(doubts)})", doubts)
    parts += [] if doubts else [indented(no_doubt(reader))]
    parts += what_to_read_section(result.what_to_read, reader)
    parts += section(HEADINGS["compared"], comparison_in_words(result.comparison, reader))
    return rendered(parts)


def _figures(result: CheckResult, reader: Reader) -> Padding:
    """Figures by name, one column a wheel."""
    table = bare_table(show_header=result.subject.both_wheels)
    for title in ("", *result.subject.sides):
        table.add_column(title)
    of_each = [figures_in_words(wheel.figures, reader) for wheel in result.wheels]
    for name in of_each[0]:
        table.add_row(name, *(figures[name] for figures in of_each))
    return Padding(table, (0, 0, 0, 2))
