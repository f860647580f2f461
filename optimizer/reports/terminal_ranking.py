"""The table of what to fit, best first."""

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from optimizer.models.suggest import SuggestResult
from optimizer.reports.ranking_columns import ranking_columns
from optimizer.reports.terminal_parts import bare_table, indented
from optimizer.wording.ranking import refusals_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


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
