"""The pieces that reports for a terminal are put together from."""

import os
from collections.abc import Sequence
from io import StringIO

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.cautions import Caution
from optimizer.models.subject import Subject
from optimizer.reports.tables import Column
from optimizer.units import length_text
from optimizer.wording.alignment import FOLLOWS, FOLLOWS_BUT, Aligned, alignment_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

Columns = dict[str, list[str]]

WIDTH = 100  # columns where the output is no terminal


def rendered(parts: list[RenderableType], width: int | None = None) -> str:
    """Render parts one below another, no empty line first, colored only for a terminal."""
    color = _in_color()
    out = StringIO()
    console = Console(
        file=out,
        width=width or line_width(),
        force_terminal=color,
        no_color=not color,
        highlight=False,
        markup=False,  # a name may hold brackets,
        emoji=False,  # and colons
    )
    for part in parts:
        console.print(part)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()).lstrip("\n") + "\n"


def _in_color() -> bool:
    return Console().is_terminal and not os.environ.get("NO_COLOR")


def line_width() -> int:
    """Characters of a line: the terminal's, or `WIDTH`."""
    return Console().width if _in_color() else WIDTH


def heading(text: str) -> Text:
    """Set a heading apart."""
    return Text(f"\n{text}", style="bold")


def indented(text: str) -> Padding:
    """Set a paragraph in."""
    return Padding(Text(text), (0, 0, 0, 2))


def section(title: str, lines: Sequence[str]) -> list[RenderableType]:
    """Set paragraphs under a heading; nothing where there are none."""
    return [heading(title), *map(indented, lines)] if lines else []


def what_it_is(subject: Subject, case_path: str, lowered_by_mm: float | None = None) -> Text:
    """Name the layout, the wheels and the file of an answer, and its ride height if it has one."""
    of = "both wheels" if subject.both_wheels else f"{subject.sides[0]} {subject.words.wheel}"
    reader = Reader(subject)
    stands = "" if lowered_by_mm is None else f", {reader.stands(lowered_by_mm)}"
    over = length_text(subject.toe_diameter_mm, subject.units)
    of_toe = "" if reader.toe_unit == subject.toe_unit else f"; toe over {over}"
    return Text(f"{subject.layout}, {of}{stands}{of_toe}; {case_path}", style="dim")


def bare_table(*, show_header: bool = True) -> Table:
    """Start a table without lines."""
    return Table(
        box=None,
        pad_edge=False,
        padding=(0, 2, 0, 0),
        header_style="underline",
        show_header=show_header,
    )


def table_of(columns: Columns) -> Padding:
    """Make a table without lines of columns by title, all to the right."""
    return columns_table([Column(title, cells) for title, cells in columns.items()])


def columns_table(columns: Sequence[Column], *, whole: int = 0) -> Padding:
    """Make such a table of columns that pages show as well, the first `whole` never wrapped."""
    table = bare_table()
    for k, column in enumerate(columns):
        table.add_column(column.title, justify=column.justify, no_wrap=k < whole)
    for row in zip(*(column.cells for column in columns), strict=True):
        table.add_row(*row)
    return Padding(table, (0, 0, 0, 2))


def cautions_section(cautions: Sequence[Caution], reader: Reader) -> list[RenderableType]:
    """Say what to mind before the car goes on the road, once; nothing where no part is changed."""
    return section(HEADINGS["cautions"], [f"- {sentence(one, reader)}" for one in cautions])


def alignment_section(wheels: Sequence[Aligned], reader: Reader) -> list[RenderableType]:
    """Say what is moved on each wheel for its alignment, of which all that follows is told.

    Nothing where no wheel is aligned.
    """
    lines = alignment_in_words(wheels, reader)
    follows = FOLLOWS_BUT if reader.subject.both_wheels else FOLLOWS
    return section("The wanted alignment", [*lines, follows] if lines else [])
