"""The table of what to fit, best first."""

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from optimizer.models.setting import Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.reports.terminal_parts import bare_table, indented
from optimizer.wording.fitting import what_to_build, what_to_fit
from optimizer.wording.ranking import refusals_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


class _Column(NamedTuple):
    title: str
    cell: Callable[[Ranked], str]
    to_the_left: bool = False


def ranking_table(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render one row an option, with what stops those that don't fit."""
    columns = [_Column("", _place), *_columns(result, reader)]
    table = bare_table()
    for column in columns:
        table.add_column(column.title, justify="left" if column.to_the_left else "right")
    below: list[RenderableType] = []
    for row in result.ranked:
        table.add_row(*(x.cell(row) for x in columns), style="" if row.fits else "dim")
        if reader.subject.both_wheels:  # no column is wide enough for a reason
            below += [indented(text) for text in refusals_in_words(row, reader)]
            continue
        for reason in row.reasons:
            table.add_row("", Text(f"no: {sentence(reason, reader)}", style="red"))
    return [Padding(table, (0, 0, 0, 2)), *below]


def _place(row: Ranked) -> str:
    return f"{row.rank}{'*' if row.unbeaten else ' '}"


def _columns(result: SuggestResult, reader: Reader) -> Iterator[_Column]:
    if reader.subject.both_wheels:
        yield from _side_by_side(result, reader)
    else:
        yield from _of_one_wheel(result, reader)


def _of_one_wheel(result: SuggestResult, reader: Reader) -> Iterator[_Column]:
    units, toe = reader.subject.units, reader.short_toe_unit

    def what(row: Ranked) -> str:
        kit = "" if row.kit is None else f"{row.kit}: "
        return f"{kit}{what_to_fit(row.wheels[0], reader, as_is=row.is_as_is)}"

    yield _Column("fit", what, to_the_left=True)
    yield from _ball_joint(result, reader)
    yield _Column(f"peak\n{toe}", lambda row: reader.toe(row.peak_toe_change_deg, signed=False))
    yield _Column(
        f"slope\nper {reader.per}", lambda row: reader.slope(row.wheels[0].toe_slope_deg_per_10mm)
    )
    yield _Column(f"curvature\n{toe}", lambda row: reader.toe(row.wheels[0].toe_curvature_deg))
    yield from _margins(reader)
    yield _Column(
        f"{reader.words.short_rod}\n{units}",
        lambda row: reader.length(row.wheels[0].tie_rod_length_change_mm, signed=True),
    )
    if any(row.wheels[0].stud_height_ratio is not None for row in result.ranked):
        yield _Column("stud\nx std", _stud)


def _stud(row: Ranked) -> str:
    ratio = row.wheels[0].stud_height_ratio
    return "" if ratio is None else f"{ratio:.2f}"


def _side_by_side(result: SuggestResult, reader: Reader) -> Iterator[_Column]:
    """What the wheels share, then what each has of its own."""
    units, toe, steers = reader.subject.units, reader.short_toe_unit, reader.words.steers
    if result.kits:
        yield _Column("kit\n", lambda row: row.kit or "none", to_the_left=True)
    if steers:
        yield _Column(f"raise {reader.words.inner}\n{units}", lambda row: _raise(row, reader))
        yield from _ball_joint(result, reader)
    for k, side in enumerate(reader.subject.sides):
        yield _Column(
            f"drop {side}\n{units}" if steers else f"fit {side}\n",
            _drop(k, reader) if steers else _all_of(k, result, reader),
            to_the_left=True,
        )
        yield _Column(f"{side} peak\n{toe}", _peak(k, reader))
    yield from _margins(reader)


def _raise(row: Ranked, reader: Reader) -> str:
    return "as it is" if row.is_as_is else reader.length(row.rack_raise_mm or 0.0, signed=True)


def _drop(k: int, reader: Reader) -> Callable[[Ranked], str]:
    def cell(row: Ranked) -> str:
        wheel = row.wheels[k]
        pieces = f" ({reader.pieces(wheel.stack_mm)})" if len(wheel.stack_mm) > 1 else ""
        return f"{reader.length(wheel.outer_drop_mm)}{pieces}"

    return cell


def _all_of(k: int, result: SuggestResult, reader: Reader) -> Callable[[Ranked], str]:
    now = result.as_is.wheels[k].ball_joint_drop_mm

    def cell(row: Ranked) -> str:
        wheel = row.wheels[k]
        other = wheel.ball_joint_drop_mm != now
        return what_to_build(wheel, reader, as_is=row.is_as_is, other_ball_joint=other)

    return cell


def _peak(k: int, reader: Reader) -> Callable[[Ranked], str]:
    return lambda row: reader.toe(row.wheels[k].peak_toe_change_deg, signed=False)


def _ball_joint(result: SuggestResult, reader: Reader) -> Iterator[_Column]:
    """The drop of the ball joint, where there is a choice of it."""
    if len({row.ball_joint_drop_mm for row in result.ranked}) > 1:
        yield _Column(
            f"ball joint\n{reader.subject.units}",
            lambda row: reader.length(row.ball_joint_drop_mm or 0.0),
        )


def _margins(reader: Reader) -> Iterator[_Column]:
    """The smallest margins of all wheels."""

    def tilt(row: Ranked) -> str:
        return _least([wheel.tilt_margin_deg for wheel in row.wheels], "{:.1f}".format)

    def gap(row: Ranked) -> str:
        return _least([wheel.clearance_mm for wheel in row.wheels], reader.length)

    yield _Column(f"{'spare tilt' if reader.subject.both_wheels else 'tilt left'}\ndeg", tilt)
    yield _Column(f"gap\n{reader.subject.units}", gap)


def _least(margins: Sequence[float | None], text: Callable[[float], str]) -> str:
    stated = [margin for margin in margins if margin is not None]
    return text(min(stated)) if stated else "?"
