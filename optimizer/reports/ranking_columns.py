"""The columns of what to fit, best first."""

from collections.abc import Callable, Iterable, Iterator

from optimizer.models.setting import Ranked, WheelSetting
from optimizer.models.suggest import SuggestResult
from optimizer.reports.chances_columns import ranked_by_column, short_chances
from optimizer.reports.tables import Column
from optimizer.wording.fitting import what_to_fit
from optimizer.wording.outer_pivot import outer_title
from optimizer.wording.reader import Reader

ROOM = 78  # characters of a line for a table
KITS_ROOM = 20  # more where names of kits stand in it
NAME = 10  # characters that the name of a kit takes at least, on several lines


def ranking_columns(result: SuggestResult, reader: Reader) -> list[Column]:
    """One row an option, its place first."""
    places = [f"{row.rank}{'*' if row.unbeaten else ' '}" for row in result.ranked]
    both = reader.subject.both_wheels
    own = _side_by_side(result, reader) if both else _of_one_wheel(result, reader)
    return [Column("", places), *own]


def columns_within(width: int, result: SuggestResult, reader: Reader) -> tuple[list[Column], bool]:
    """The columns of the short ranking, and whether numbers stand for the kits.

    That is where names of kits would be broken into many lines; where numbers are too wide as well,
    the rod's change is left out.
    """
    named = short_ranking_columns(result, reader)
    if not result.kits or sum(map(_width, named)) - max(0, _width(named[1]) - NAME) <= width:
        return named, False
    numbered = short_ranking_columns(result, reader, numbered=True)
    if sum(map(_width, numbered)) > width:
        numbered = short_ranking_columns(result, reader, numbered=True, rods=False)
    return numbered, True


def short_ranking_columns(
    result: SuggestResult, reader: Reader, *, numbered: bool = False, rods: bool = True
) -> list[Column]:
    """As `ranking_columns`, one narrow line an option, what stops it in a word."""
    rows, words, units = result.ranked, reader.words, reader.subject.units
    yes = [f"{row.rank}{'*' if row.unbeaten else ' '}" for row in rows]
    columns = [Column("\n", yes)]
    if result.kits:
        names = {kit.name: f"{k}" for k, kit in enumerate(result.kits, 1)} if numbered else {}
        kits = [row.kit or "none" for row in rows]
        columns.append(Column("\nkit", [names.get(kit, kit) for kit in kits], "left"))
    lead = [row.wheels[0] for row in rows]
    raises = {f"raise\n{words.inner}": [wheel.rack_raise_mm for wheel in lead]}
    for k, side in enumerate(reader.subject.sides):
        of = f"\n{side}" if reader.subject.both_wheels else "\nouter"
        drops = [row.wheels[k].outer_drop_mm for row in rows]
        columns.append(Column(f"{outer_title(reader)}{of}", reader.sizes(drops)))
        if reader.subject.both_wheels and not words.steers:
            own = [row.wheels[k].rack_raise_mm for row in rows]
            columns.append(Column(f"raise\n{side}", reader.sizes(own, signed=True)))
    if words.steers or not reader.subject.both_wheels:
        columns += _moved(raises | _parts(rows, reader), reader)
        columns += _ball_joint(rows, reader)
    peaks = [reader.toe(row.peak_toe_change_deg, signed=False) for row in rows]
    columns.append(Column(f"peak\n{reader.short_toe_unit}", peaks))
    columns += ranked_by_column(result, reader)
    place = len(columns)
    columns += _margins(rows, reader)
    if rods and not reader.subject.both_wheels:
        longer = [reader.length(wheel.tie_rod_length_change_mm, signed=True) for wheel in lead]
        columns.append(Column(f"{words.short_rod}\n{units}", longer))
    if any(row.reasons for row in rows):
        stops = [", ".join(dict.fromkeys(x.kind for x in row.reasons)) for row in rows]
        columns.append(Column("stopped\nby", stops, "left"))
    room = ROOM - sum(map(_width, columns)) + (KITS_ROOM if result.kits and not numbered else 0)
    for column in short_chances(result, reader):  # as many as there is room for
        room -= _width(column)
        columns[place:place] = [column] if room >= 0 else []
    return columns


def _parts(rows: list[Ranked], reader: Reader) -> dict[str, list[float]]:
    """What is moved beside the pivots, the same on all wheels, by title. [mm]."""
    lead, inner = [row.wheels[0] for row in rows], reader.words.inner
    return {
        f"{inner}\nforward": [wheel.rack_fore_aft_mm for wheel in lead],
        "knuckle\nplate": [wheel.knuckle_plate_mm for wheel in lead],
        "member\nspacer": [wheel.crossmember_spacer_mm for wheel in lead],
        f"{inner}\ntilt": [wheel.rack_tilt_mm for wheel in lead],
        "frame\nbracket": [wheel.frame_bracket_raise_mm for wheel in lead],
        "axle\nbracket": [wheel.axle_bracket_raise_mm for wheel in lead],
        "lift\nblock": [wheel.lift_block_mm for wheel in lead],
        "longer\nshackle": [wheel.shackle_longer_mm for wheel in lead],
    }


def _moved(parts: dict[str, list[float]], reader: Reader) -> Iterator[Column]:
    """The parts that any option moves."""
    for title, lengths in parts.items():
        if any(lengths):
            yield Column(title, reader.sizes(lengths, signed=True))


def _width(column: Column) -> int:
    """Characters that a column takes, with the space before it."""
    return 2 + max(map(len, [*column.title.split("\n"), *column.cells]))


def _of_one_wheel(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    units, toe, rows = reader.subject.units, reader.short_toe_unit, result.ranked
    wheels = [row.wheels[0] for row in rows]
    yield Column("fit", [_fit(row, reader) for row in rows], "left")
    yield Column(f"peak\n{toe}", _peaks(wheels, reader))
    slopes = [reader.slope(wheel.toe_slope_deg_per_10mm) for wheel in wheels]
    yield Column(f"slope\nper {reader.per}", slopes)
    yield Column(f"curvature\n{toe}", [reader.toe(wheel.toe_curvature_deg) for wheel in wheels])
    yield from _margins(rows, reader)
    changes = [reader.length(wheel.tie_rod_length_change_mm, signed=True) for wheel in wheels]
    yield Column(f"{reader.words.short_rod}\n{units}", changes)
    ratios = [wheel.stud_height_ratio for wheel in wheels]
    if any(ratios):
        yield Column("stud\nx std", ["" if ratio is None else f"{ratio:.2f}" for ratio in ratios])


def _fit(row: Ranked, reader: Reader) -> str:
    kit = "" if row.kit is None else f"{row.kit}: "
    return f"{kit}{_build(0, row, reader)}"


def _side_by_side(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """What the wheels share, then what each has of its own."""
    units, toe, rows = reader.subject.units, reader.short_toe_unit, result.ranked
    shared = reader.words.steers
    if result.kits:
        yield Column("kit\n", [row.kit or "none" for row in rows], "left")
    if shared:
        raises = reader.sizes([row.rack_raise_mm or 0.0 for row in rows], signed=True)
        cells = ["as it is" if row.is_as_is else up for row, up in zip(rows, raises, strict=True)]
        yield Column(f"raise {reader.words.inner}\n{units}", cells)
        for column in _moved(_parts(rows, reader), reader):
            yield column._replace(title=f"{column.title} {units}")
        yield from _ball_joint(rows, reader)
    for k, side in enumerate(reader.subject.sides):
        wheels = [row.wheels[k] for row in rows]
        if shared:
            drops = reader.sizes([wheel.outer_drop_mm for wheel in wheels])
            stacks = [_stack(drop, one, reader) for drop, one in zip(drops, wheels, strict=True)]
            yield Column(f"{outer_title(reader)} {side}\n{units}", stacks, "left")
        else:
            yield Column(f"fit {side}\n", [_build(k, row, reader) for row in rows], "left")
        yield Column(f"{side} peak\n{toe}", _peaks(wheels, reader))
    yield from _margins(rows, reader)


def _stack(drop: str, wheel: WheelSetting, reader: Reader) -> str:
    pieces = f" ({reader.pieces(wheel.stack_mm)})" if len(wheel.stack_mm) > 1 else ""
    return f"{drop}{pieces}"


def _build(k: int, row: Ranked, reader: Reader) -> str:
    return what_to_fit(row.wheels[k], reader, as_is=row.is_as_is)


def _peaks(wheels: Iterable[WheelSetting], reader: Reader) -> list[str]:
    return [reader.toe(wheel.peak_toe_change_deg, signed=False) for wheel in wheels]


def _ball_joint(rows: list[Ranked], reader: Reader) -> Iterator[Column]:
    """The drop of the ball joint, where there is a choice of it."""
    drops = [row.ball_joint_drop_mm or 0.0 for row in rows]
    if len(set(drops)) > 1:
        yield Column(f"ball joint\n{reader.subject.units}", [reader.length(x) for x in drops])


def _margins(rows: list[Ranked], reader: Reader) -> Iterator[Column]:
    """The smallest margins of all wheels."""
    tilt = "spare tilt" if reader.subject.both_wheels else "tilt left"
    tilts = ([wheel.tilt_margin_deg for wheel in row.wheels] for row in rows)
    yield Column(f"{tilt}\ndeg", [_least(some, "{:.1f}".format) for some in tilts])
    gaps = ([wheel.clearance_mm for wheel in row.wheels] for row in rows)
    yield Column(f"gap\n{reader.subject.units}", [_least(some, reader.length) for some in gaps])


def _least(margins: list[float | None], text: Callable[[float], str]) -> str:
    stated = [margin for margin in margins if margin is not None]
    return text(min(stated)) if stated else "?"
