"""The section about what else fitting something changes."""

from rich.console import RenderableType
from rich.padding import Padding

from optimizer.models.suggest import SuggestResult
from optimizer.reports.side_effect_rows import side_effect_rows
from optimizer.reports.terminal_parts import bare_table, heading, indented
from optimizer.wording.reader import Reader


def side_effects_section(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render what the first setting that changes anything does beside the toe curve."""
    if result.side_effects_of is None:
        return []
    columns, unchanged, meanings = side_effect_rows(result, reader)
    table = bare_table()
    for k, column in enumerate(columns):
        whole = k == 0 and reader.subject.both_wheels  # wide tables wrap the units
        table.add_column(column.title, justify=column.justify, no_wrap=whole)
    for row in zip(*(column.cells for column in columns), strict=True):
        table.add_row(*row)
    return [
        heading("What else it changes"),
        Padding(table, (0, 0, 0, 2)),
        *(indented(text) for text in [*unchanged, *meanings]),
    ]
