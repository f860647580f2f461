"""The section that holds left against right."""

from rich.console import RenderableType

from optimizer.models.comparison import SidesCompared
from optimizer.reports.terminal_parts import heading, indented
from optimizer.wording.comparison import comparison_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.reader import Reader


def comparison_section(found: SidesCompared | None, reader: Reader) -> list[RenderableType]:
    """Say whether the wheels are alike, and what parts them; nothing where one was measured."""
    if found is None:
        return []
    return [
        heading(HEADINGS["compared"]),
        *(indented(line) for line in comparison_in_words(found, reader)),
    ]
