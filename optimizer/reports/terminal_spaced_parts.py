"""The section that holds knuckle plate and crossmember spacer side by side."""

from rich.console import RenderableType

from optimizer.models.suggest import SuggestResult
from optimizer.reports.terminal_parts import heading, indented, table_of
from optimizer.wording.reader import Reader
from optimizer.wording.spaced_compared import NOTE, TITLE, part_cells


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
