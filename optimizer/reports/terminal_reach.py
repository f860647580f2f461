"""The map of `reach`: ride heights down, kits across."""

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.reach import KitReach, ReachResult, ReachRow
from optimizer.reports.kits import STUDS, lowest_in_words
from optimizer.reports.terminal_parts import heading, indented, rendered, what_it_is
from optimizer.wording.reader import Reader

ACROSS = 8  # kits side by side; more go into a further map
WORDS = {
    "alignment": "alignment",
    "stack": "range",
    "step": "step",
    "curve": "curve",
    "linkage": "linkage",
    "tilt": "tilt",
    "gap": "gap",
    "thread": "thread",
    "stud": "stud",
}
KEY = (
    "A number is the smallest peak that keeps every limit and the tolerance, in {unit}. A word is "
    "what stops the kit: range and step of its stack, tilt of a joint, gap to a part around, "
    "thread, stud, the linkage itself, or the curve's own shape, which no stack cures."
)


def reach_report(result: ReachResult, case_path: str) -> str:
    """Render the map, and how low each kit goes in words."""
    reader = Reader(result.subject)
    parts: list[RenderableType] = [
        heading(result.subject.name),
        what_it_is(result.subject, case_path),
        heading(
            f"Peak toe change within {reader.toe_with_unit(result.tolerance_deg)}, by ride height"
        ),
    ]
    kits = list(enumerate(result.kits, start=1))
    parts += [_map(result, kits[k : k + ACROSS], reader) for k in range(0, len(kits), ACROSS)]
    parts.append(indented(KEY.format(unit=reader.toe_unit)))
    parts += [indented(text) for text in _alignments(result, reader)]
    parts.append(heading("How low each goes"))
    parts += [
        indented(f"{number}. {_name(kit)} {lowest_in_words(kit, result, reader)}.")
        for number, kit in kits
    ]
    return rendered(parts)


def _alignments(result: ReachResult, reader: Reader) -> list[str]:
    """Say what must be moved at each height where the case asks for an alignment."""
    of_first = [row for row in result.heights if row.kit == result.kits[0].name]
    told = [
        f"{reader.length(row.lowered_by_mm)}: "
        + (row.reasons[0] if row.alignment is None else row.alignment.what_to_move)
        for row in of_first
        if row.alignment is not None or "alignment" in row.blocked_by
    ]
    return ["The wanted alignment is set anew at each height:", *told] if told else []


def _name(kit: KitReach) -> str:
    return f"{kit.name} ({STUDS[kit.seat]})" if kit.irreversible and kit.seat else kit.name


def _map(result: ReachResult, kits: list[tuple[int, KitReach]], reader: Reader) -> Padding:
    units = result.subject.units
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    steers = result.subject.words.steers
    for title in (f"lowered by\n{units}", "camber\ndeg", *(["caster\ndeg"] if steers else [])):
        table.add_column(title, justify="right")
    for number, _ in kits:
        table.add_column(f"kit {number}\n{reader.short_toe_unit}", justify="right")
    cells = {(row.lowered_by_mm, row.kit): row for row in result.heights}
    heights = list(dict.fromkeys(row.lowered_by_mm for row in result.heights))
    for height in heights:
        rows = [cells[height, kit.name] for _, kit in kits]
        table.add_row(
            reader.length(height),
            _angle(rows[0].camber_deg),
            *([_angle(rows[0].caster_deg)] if steers else []),
            *(_cell(row, reader) for row in rows),
        )
    return Padding(table, (0, 0, 1, 2))


def _angle(angle_deg: float | None) -> str:
    return "-" if angle_deg is None else f"{angle_deg:+.2f}"


def _cell(row: ReachRow, reader: Reader) -> Text:
    if row.reachable and row.peak_toe_change_deg is not None:
        return Text(reader.toe(row.peak_toe_change_deg, signed=False), style="green")
    return Text(WORDS[row.blocked_by[0]] if row.blocked_by else "-", style="red")
