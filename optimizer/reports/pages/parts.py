"""What a page is made of: sections with texts, tables and figures, put into one template."""

from collections.abc import Sequence
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from msgspec import Struct, field

from optimizer.reports.tables import Column


class Source(Struct, frozen=True):
    """Where an answer comes from: files, version of the program, digest of the files' bytes."""

    paths: list[str]
    version: str
    digest: str


class Table(Struct, frozen=True):
    """Cells by row under titles; the columns `words` hold words, the others numbers.

    Rows are `marked` or `crossed` out, cells are `met`, by row and column.
    """

    titles: list[str]
    rows: list[list[str]]
    words: frozenset[int] = frozenset()
    caption: str = ""
    marked: frozenset[int] = frozenset()
    crossed: frozenset[int] = frozenset()
    met: frozenset[tuple[int, int]] = frozenset()


def table_of(columns: Sequence[Column]) -> Table:
    """Make a page's table of columns."""
    rows = [list(row) for row in zip(*(column.cells for column in columns), strict=True)]
    words = frozenset(k for k, column in enumerate(columns) if column.justify == "left")
    return Table([column.title for column in columns], rows, words)


class Figure(Struct, frozen=True):
    """A drawing for the template of its `kind`, what it shows in words, and the numbers behind."""

    kind: str
    name: str
    caption: str
    alt: str
    drawing: Any
    table: Table | None = None


class Section(Struct, frozen=True):
    """A part of a page, in this order; `steps` are numbered, `points` are not.

    `folded` texts stand behind a summary, and are left out in print.
    """

    title: str
    texts: list[str] = field(default_factory=list)
    steps: list[str] = field(default_factory=list)
    figures: list[Figure] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)
    points: list[str] = field(default_factory=list)
    below: list[str] = field(default_factory=list)
    folded: list[str] = field(default_factory=list)

    @property
    def holds_something(self) -> bool:
        """Whether there is more than a title."""
        lists = (self.texts, self.steps, self.figures, self.tables, self.points, self.below)
        return any(lists)


class Page(Struct, frozen=True):
    """A page: the verdict first, then sections."""

    title: str
    what: str
    verdict: list[str]
    sections: list[Section]
    source: Source


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("optimizer.reports.pages"),
        autoescape=True,  # a name or a caption stays text, whatever it holds
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page_html(page: Page) -> str:
    """Render a page: one file, nothing to load, readable without its script."""
    return rendered("page.html", page=page)


def rendered(template: str, **given: Any) -> str:
    """Put what is given into a template."""
    return _templates().get_template(template).render(**given) + "\n"
