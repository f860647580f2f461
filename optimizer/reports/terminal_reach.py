"""The map of `reach`: ride heights down, kits across."""

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from optimizer.models.reach import KitReach, ReachResult, ReachRow
from optimizer.reports.reach_cells import (
    angles_by_height,
    reached_in_a_cell,
    tells_what_is_shared,
)
from optimizer.reports.terminal_parts import (
    bare_table,
    cautions_section,
    heading,
    indented,
    line_width,
    rendered,
    what_it_is,
)
from optimizer.wording.check import doubted_in_words
from optimizer.wording.kits import STUDS
from optimizer.wording.reach import (
    alignments,
    how_far,
    how_far_in_words,
    in_numbers,
    within_in_words,
)
from optimizer.wording.reach_map import height_column, key, key_of_chances, of_band
from optimizer.wording.reader import Reader

ACROSS = 4  # kits side by side at most; more go into a further map
HEIGHT, ANGLE = 12, 8  # characters of a line for ride heights and for an angle


def reach_report(result: ReachResult, case_path: str, *, quiet: bool = False) -> str:
    """Render how low each kit goes, then the map; `quiet`, how low alone."""
    reader, kits = Reader(result.subject), list(enumerate(result.kits, start=1))
    within, of_map = within_in_words(result, reader)
    doubts = doubted_in_words(result.doubted, case_path, reader)
    parts: list[RenderableType] = [
        heading(result.subject.name),
        what_it_is(result.subject, case_path),
        *(indented(text) for text in of_band(result)),
        *(indented(text) for text in doubts),
        heading(f"{how_far_in_words(result)}{within}"),
    ]
    for number, kit in kits:
        first, *of_wheels = how_far(kit, _name(kit), result, reader)
        parts += [
            indented(f"{number}. {first}"),
            *(
                Padding(Text(x), (0, 0, 0, 5))
                for x in (*of_wheels, *in_numbers(kit, result, reader))
            ),
        ]
    if quiet:
        return rendered(parts)
    of = " of both wheels" if result.subject.both_wheels else ""
    parts.append(heading(f"Peak toe change{of}{of_map}, by ride height"))
    across = _across(result, reader)
    parts += [_map(result, kits[k : k + across], reader) for k in range(0, len(kits), across)]
    below = (key(result, reader), *key_of_chances(result), *alignments(result, reader))
    parts += [indented(text) for text in below]
    return rendered([*parts, *cautions_section(result.cautions, reader)])


def _name(kit: KitReach) -> str:
    return f"{kit.name} ({STUDS[kit.seat]})" if kit.irreversible and kit.seat else kit.name


def _across(result: ReachResult, reader: Reader) -> int:
    """How many kits go side by side into a line."""
    cells = [reached_in_a_cell(row, result, reader) for row in result.heights]
    widest = 2 + max(map(len, (*cells, _unit(result, reader))))
    room = line_width() - HEIGHT - ANGLE * len(angles_by_height(result))
    return max(1, min(ACROSS, room // widest))


def _unit(result: ReachResult, reader: Reader) -> str:
    shared = f" ({reader.words.inner})" if tells_what_is_shared(result) else ""
    return f"{reader.short_toe_unit}{shared}"


def _map(result: ReachResult, kits: list[tuple[int, KitReach]], reader: Reader) -> Padding:
    table = bare_table()
    angles = angles_by_height(result)
    lowered, heights = height_column(result, reader)
    for title in (lowered, *(f"{name}\ndeg" for name in angles)):
        table.add_column(title, justify="right")
    for number, _ in kits:
        table.add_column(f"kit {number}\n{_unit(result, reader)}", justify="right")
    cells = {(row.lowered_by_mm, row.kit): row for row in result.heights}
    for k, (height, named) in enumerate(heights.items()):
        table.add_row(
            named,
            *(column[k] for column in angles.values()),
            *(_cell(cells[height, kit.name], result, reader) for _, kit in kits),
        )
    return Padding(table, (0, 0, 1, 2))


def _cell(row: ReachRow, result: ReachResult, reader: Reader) -> Text:
    return Text(reached_in_a_cell(row, result, reader), style="green" if row.reachable else "red")
