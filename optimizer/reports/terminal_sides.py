"""Reports of a car whose wheels were both measured: curves, checks, ride heights."""

from collections.abc import Callable, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.reach import ReachResult
from optimizer.models.subject import Subject
from optimizer.models.together import (
    CheckOfBothSides,
    CurveOfBothSides,
    PairReach,
    ReachOfBothSides,
    SidesCompared,
)
from optimizer.reports.alignment import ROOM, alignment_in_words
from optimizer.reports.kits import lowest_in_words
from optimizer.reports.terminal_parts import heading, indented, rendered
from optimizer.wording.reader import Reader

Columns = dict[str, list[str]]

ACROSS = 8  # kits side by side
KEY = (
    "A number is the larger of both wheels' peaks in {unit}{rack}. A word is what stops it: a "
    "wheel that can't be met even alone{or_rack}."
)


def subject_line(subject: Subject, case_path: str) -> Text:
    """Name the car's layout and file."""
    return Text(f"{subject.layout}, both wheels; {case_path}", style="dim")


def table_of(columns: Columns) -> Padding:
    """Make a table without lines of columns by title, all to the right."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    for title in columns:
        table.add_column(title, justify="right")
    for row in zip(*columns.values(), strict=True):
        table.add_row(*row)
    return Padding(table, (0, 0, 0, 2))


def sides_section(found: SidesCompared, reader: Reader) -> list[RenderableType]:
    """Say whether the wheels are alike, and what parts them if not."""
    by = reader.toe_with_unit(found.peak_toe_difference_deg)
    tape = reader.toe_with_unit(found.tape_alone_deg)
    if found.alike:
        lines = [
            f"The wheels pass for mirror images: their toe changes differ by {by} at most (errors "
            f"of the tape alone could make {tape}), and no point by more than the tape explains."
        ]
    else:
        at = f"{reader.length(found.at_travel_mm, signed=True)} {reader.subject.units}"
        lines = [
            f"The toe changes differ by up to {by}, at travel {at}; both wheels there at the same "
            f"time steer the car by half of that. Errors of the tape alone could make {tape}.",
            "Likely causes, the likeliest first:",
            *(f"- {cause}" for cause in found.causes),
        ]
    return [heading("Left against right"), *(indented(line) for line in lines)]


def alignment_of_both(
    left: AlignmentAnswer | None, right: AlignmentAnswer | None, reader: Reader
) -> list[RenderableType]:
    """Say what is moved on each wheel for the wanted alignment; nothing where none is asked for."""
    told: list[RenderableType] = [
        indented(f"{side}: {text}")
        for side, answer in (("Left", left), ("Right", right))
        if answer is not None
        for text in alignment_in_words(answer, reader)[:-1]
    ]
    if not told:
        return []
    return [heading("The wanted alignment"), *told, indented(ROOM)]


def curve_both_report(result: CurveOfBothSides) -> str:
    """Render both curves side by side, bump of the left wheel first."""
    reader = Reader(result.subject)
    units, toe, together = result.subject.units, reader.short_toe_unit, result.together
    mirrored = together.right_travel_mm != result.travel_mm  # one wheel up, the other down

    def of_both(name: str, key: str, unit: str, text: Callable[[float], str]) -> Columns:
        left, right = getattr(result, key), getattr(result.right, key)
        return {
            f"{name}\nleft\n{unit}": _cells(left, text),
            f"{name}\nright\n{unit}": _cells(right[::-1] if mirrored else right, text),
        }

    def travel(lengths: list[float]) -> list[str]:
        return [reader.length(x, signed=True) for x in lengths]

    columns = {
        f"\ntravel\n{units}": travel(result.travel_mm),
        **({f"right\ntravel\n{units}": travel(together.right_travel_mm)} if mirrored else {}),
        **of_both("toe", "toe_deg", toe, reader.toe),
        f"toe\ntotal\n{toe}": _cells(together.total_toe_deg, reader.toe),
        f"left -\nright\n{toe}": _cells(together.toe_difference_deg, reader.toe),
        **of_both("camber", "camber_deg", "deg", _degrees),
        **of_both("track", "half_track_change_mm", units, reader.length),
        **of_both("tilt", "outer_tilt_deg", "deg", _degrees),
    }
    rods = [
        f"{side} {reader.words.rod} {reader.length(change, signed=True)} {units}"
        for side, change in (
            ("left", result.tie_rod_length_change_mm),
            ("right", result.right.tie_rod_length_change_mm),
        )
        if change is not None
    ]
    return rendered(
        [
            heading(result.subject.name),
            indented(
                f"Lengths after the toe reset: {', '.join(rods) or 'none'}. Toe in "
                f"{reader.toe_unit}, toe-in positive; total is of both wheels."
            ),
            table_of({title: cells[::-1] for title, cells in columns.items()}),
            *alignment_of_both(result.alignment, result.right.alignment, reader),
            *(indented(f"Left: {note}") for note in result.notes),
            *(indented(f"Right: {note}") for note in result.right.notes),
            *sides_section(together, reader),
        ]
    )


def _cells(values: Sequence[float | None], text: Callable[[float], str]) -> list[str]:
    return ["-" if value is None else text(value) for value in values]


def _degrees(angle: float) -> str:
    return f"{angle:.2f}"


def check_both_report(result: CheckOfBothSides, case_path: str) -> str:
    """Render what a case says of both wheels, every doubt about it, and how they differ."""
    reader = Reader(result.subject)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    for title in ("", "left", "right"):
        table.add_column(title)
    for name, value in result.facts.items():
        table.add_row(name, value, result.right.facts[name])
    doubts = _doubts(result)
    parts: list[RenderableType] = [
        heading(result.subject.name),
        subject_line(result.subject, case_path),
        Padding(table, (0, 0, 0, 2)),
    ]
    if doubts:
        parts.append(heading(f"Worth a second look ({len(doubts)})"))
        parts += [indented(doubt) for doubt in doubts]
    else:
        parts.append(indented("Nothing looks wrong with either wheel by itself."))
    parts += alignment_of_both(result.alignment, result.right.alignment, reader)
    return rendered([*parts, *sides_section(result.together, reader)])


def _doubts(result: CheckOfBothSides) -> list[str]:
    """Every doubt once, with the wheel where it is of one alone."""
    left, right = (
        [f"{doubt.location}: {doubt.message}" for doubt in one.doubts]
        for one in (result, result.right)
    )
    return [
        *(
            text if text in right or text.startswith("left.") else f"{text} (left wheel)"
            for text in left
        ),
        *(
            text if text.startswith("right.") else f"{text} (right wheel)"
            for text in right
            if text not in left
        ),
    ]


def reach_both_report(result: ReachOfBothSides, case_path: str) -> str:
    """Render the map of what both wheels meet at once, and how low each goes by itself."""
    reader = Reader(result.subject)
    kits = list(enumerate(result.kits, start=1))
    parts: list[RenderableType] = [
        heading(result.subject.name),
        subject_line(result.subject, case_path),
        heading(
            f"Peak toe change of both wheels within {reader.toe_with_unit(result.tolerance_deg)}, "
            "by ride height"
        ),
    ]
    heights = list(dict.fromkeys(row.lowered_by_mm for row in result.together.heights))
    cells = {(row.lowered_by_mm, row.kit): row for row in result.together.heights}
    unit = f" ({reader.words.inner})" if reader.words.steers else ""
    for start in range(0, len(kits), ACROSS):
        columns = {f"lowered by\n{result.subject.units}": [reader.length(x) for x in heights]}
        for number, kit in kits[start : start + ACROSS]:
            columns[f"kit {number}\n{reader.short_toe_unit}{unit}"] = [
                _peak(cells[height, kit.name], reader) for height in heights
            ]
        parts += [table_of(columns), Text("")]
    inner, steers = reader.words.inner, reader.words.steers
    rack = f", with the {inner} at the height in brackets, the one that suits both best"
    or_rack = f", or the {inner} where no one height of it suits both"
    parts.append(
        indented(
            KEY.format(
                unit=reader.toe_unit,
                rack=rack if steers else "",
                or_rack=or_rack if steers else "",
            )
        )
    )
    parts.append(heading("How low each goes"))
    for number, kit in kits:
        rows = [row for row in result.together.heights if row.kit == kit.name and row.reachable]
        lowest = max((row.lowered_by_mm for row in rows), default=None)
        both = (
            "at none of these heights"
            if lowest is None
            else f"down to {reader.length_with_unit(lowest)} lower"
        )
        parts.append(indented(f"{number}. {kit.name}: both wheels at once {both}."))
        parts += [indented(f"   {text}") for text in _alone(result, number - 1, reader)]
    return rendered(parts)


def _peak(row: PairReach, reader: Reader) -> str:
    if not row.reachable or row.peak_toe_change_deg is None:
        return ", ".join(row.stopped_by).replace("rack", reader.words.inner)
    peak = reader.toe(row.peak_toe_change_deg, signed=False)
    if row.rack_raise_mm is None:
        return peak
    return f"{peak} ({reader.length(row.rack_raise_mm, signed=True)})"


def _alone(result: ReachOfBothSides, kit: int, reader: Reader) -> list[str]:
    wheels: list[tuple[str, ReachResult]] = [("left", result), ("right", result.right)]
    return [
        f"The {side} wheel alone {lowest_in_words(one.kits[kit], one, reader)}."
        for side, one in wheels
    ]
