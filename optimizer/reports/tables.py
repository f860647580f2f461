"""Tables of answers as titles and cells, for terminals and pages alike."""

from typing import Literal, NamedTuple


class Column(NamedTuple):
    """A column: its title, which may have lines, and one cell a row."""

    title: str
    cells: list[str]
    justify: Literal["left", "right"] = "right"
