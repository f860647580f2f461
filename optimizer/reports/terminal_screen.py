"""The report of `screen`: who is served by what, and which sizes would serve most."""

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from optimizer.models.screen import HeightServed, ScreenSummary, Sizes
from optimizer.reports.terminal_parts import bare_table, heading, indented, rendered
from optimizer.units import Units
from optimizer.wording.screen import (
    RANGES,
    height,
    left_out,
    of_band,
    ranges_in_words,
    served_by_height,
    share,
    sizes_in_words,
    what_stops,
    what_was_screened,
)

ACROSS = 11  # ride heights side by side; more go into a further table
ANY = "any of them"


def screen_report(summary: ScreenSummary, folder: str, units: Units) -> str:
    """Render who is served, what stops the others, and the sizes; ride heights in a unit."""
    parts: list[RenderableType] = [
        Text(what_was_screened(summary, folder)),
        *map(Text, [*left_out(summary), *of_band(summary)]),
        heading(served_by_height(units)),
        *(_served(summary, first, units) for first in range(0, len(summary.served), ACROSS)),
        heading("What stops each, in parts of its rows"),
        *(
            indented(f"{number}. {what_stops(kit, summary)}")
            for number, kit in enumerate(summary.kits, start=1)
        ),
    ]
    if summary.sizes is not None:
        parts += _sizes(summary.sizes)
    return rendered(parts)


def _served(summary: ScreenSummary, first: int, units: Units) -> Padding:
    table = bare_table()
    table.add_column("")
    shown = summary.served[first : first + ACROSS]
    heights = (height(one.lowered_by_mm, units) for one in shown)
    for title in ("at any\nheight", "at all", *heights):
        table.add_column(title, justify="right")
    for number, kit in enumerate(summary.kits, start=1):
        counts = [kit.cars, kit.cars_at_all_heights, *_cars(kit.heights[first : first + ACROSS])]
        table.add_row(f"{number}. {kit.name}", *map(str, counts))
    if len(summary.kits) > 1:
        table.add_row(ANY, "", "", *map(str, _cars(shown)))
    more = first + ACROSS < len(summary.served)
    return Padding(table, (0, 0, int(more), 2))


def _cars(heights: list[HeightServed]) -> list[int]:
    return [one.cars for one in heights]


def _sizes(sizes: Sizes) -> list[RenderableType]:
    of = sizes.possible
    return [
        heading("Which sizes would serve most"),
        indented(sizes_in_words(sizes)),
        _row(
            "longest\nstack, mm",
            {f"{one.longest_mm:g}": share(one.served, of) for one in sizes.lengths},
        ),
        _row("step, mm", {f"{one.step_mm:g}": share(one.served, of) for one in sizes.steps}),
        _ranges(sizes),
        indented(RANGES),
    ]


def _row(what: str, cells: dict[str, str]) -> Padding:
    table = bare_table()
    for title in (what, *cells):
        table.add_column(title, justify="right", no_wrap=title == what)
    table.add_row("serves %", *(cell.removesuffix(" %") for cell in cells.values()))
    return Padding(table, (1, 0, 0, 2))


def _ranges(sizes: Sizes) -> Padding:
    table = bare_table()
    for title in ("range, mm wide", "first", "and second", "and third"):
        table.add_column(title, justify="right")
    for one in sizes.ranges:
        table.add_row(f"{one.width_mm:g}", *ranges_in_words(one, sizes.possible))
    return Padding(table, (1, 0, 0, 2))
