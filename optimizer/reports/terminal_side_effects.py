"""The section about what else number 1 changes."""

from rich.console import RenderableType
from rich.padding import Padding

from optimizer.models.suggest import SuggestResult
from optimizer.reports.terminal_parts import bare_table, heading, indented
from optimizer.wording.reader import Reader
from optimizer.wording.side_effects import (
    definitions,
    figures,
    unchanged_in_words,
    units_in_words,
)


def side_effects_section(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render what number 1 changes beside the toe curve; nothing where it changes nothing."""
    if result.first is None or result.first.is_as_is:
        return []
    wheels = [wheel.side_effects for wheel in result.wheels]
    table = bare_table()
    table.add_column("", no_wrap=reader.subject.both_wheels)  # wide tables wrap the units
    for wheel in result.wheels:
        side = f"{wheel.side}\n" if reader.subject.both_wheels else ""
        for title in ("now", "number 1"):
            table.add_column(f"{side}{title}", justify="right")
    table.add_column("")
    same = []
    for row in zip(*(figures(wheel, reader) for wheel in wheels), strict=True):
        if all(figure.now == figure.then and not figure.gradient for figure in row):
            same.append(row)
        else:
            cells = [text for figure in row for text in (figure.now, figure.then)]
            table.add_row(row[0].what, *cells, units_in_words(row))
    texts = [*unchanged_in_words(same), *definitions(wheels[0], reader)]
    return [
        heading("What else it changes"),
        Padding(table, (0, 0, 0, 2)),
        *(indented(text) for text in texts),
    ]
