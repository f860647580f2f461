"""The section about a pivot made to measure."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.custom_pivot import CustomPivot, TradedWheel, TradeOff
from optimizer.models.suggest import SuggestResult
from optimizer.reports.terminal_parts import bare_table, heading, indented, table_of
from optimizer.wording.custom import custom_in_words, tolerance_in_words, trade_offs_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.reader import Reader

LESS = 0.8  # a trade-off is worth a line where its change is less than this share of the last one's


def custom_pivot_section(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render the custom pivot of an answer that has one."""
    pivot = result.custom
    if pivot is None:
        return []
    return [
        heading(HEADINGS["custom"]),
        Padding(_coordinates(pivot, reader), (0, 0, 0, 2)),
        *(indented(text) for text in custom_in_words(pivot, result, reader)),
        *_trade_offs(pivot, reader),
    ]


def _coordinates(pivot: CustomPivot, reader: Reader) -> Table:
    table, units = bare_table(), reader.subject.units
    table.add_column("pivot")
    for name in ("from its standard place", "make it to within, alone", "all off at once by"):
        table.add_column(f"{name}\n{units}", justify="right")
    for wheel in pivot.wheels:
        for told in wheel.coordinates:
            table.add_row(
                f"{reader.side(wheel.side)}{told.pivot} {told.axis}",
                reader.machined(told.move_mm),
                tolerance_in_words(told.tolerance_mm, reader),
                tolerance_in_words(told.tolerance_together_mm, reader),
            )
    return table


def _trade_offs(pivot: CustomPivot, reader: Reader) -> Iterator[RenderableType]:
    """Those of the trade-offs that ask for clearly less than the one before."""
    shown: list[TradeOff] = []
    for offer in pivot.trade_offs:
        last = shown[-1] if shown else pivot
        if offer.change_mm < LESS * last.change_mm:
            shown.append(offer)
    if not shown:
        return
    yield Padding(Text(trade_offs_in_words(reader)), (1, 0, 0, 2))
    yield table_of(dict(_columns(shown, pivot, reader)))


def _columns(
    shown: list[TradeOff], pivot: CustomPivot, reader: Reader
) -> Iterator[tuple[str, list[str]]]:
    units, inner = reader.subject.units, reader.words.inner
    peaks = [reader.toe(offer.peak_toe_change_deg, signed=False) for offer in shown]
    yield f"peak\n{reader.short_toe_unit}", peaks
    yield f"moved in all\n{units}", [reader.length(offer.change_mm) for offer in shown]
    wheels = list(zip(*(offer.wheels for offer in shown), strict=True))
    inner_moves = any(any(wheel.moves_mm[3:]) for rows in wheels for wheel in rows)
    for rows in wheels:
        for first, pivots in enumerate(("outer", "inner") if inner_moves else ("outer",)):
            title = f"{reader.side(rows[0].side)}{pivots} x, y, z\n{units}"
            yield title, [_moves(wheel, 3 * first, reader) for wheel in rows]
    shared = pivot.rack_raise_mm is not None
    for rows in wheels[:1] if shared else wheels:
        side = "" if shared else reader.side(rows[0].side)
        raises = [reader.length(wheel.rack_raise_mm, signed=True) for wheel in rows]
        yield f"{side}{inner}\n{units}", raises
        if any(wheel.rack_fore_aft_mm for wheel in rows):
            cells = [reader.length(wheel.rack_fore_aft_mm, signed=True) for wheel in rows]
            yield f"{side}{inner} forward\n{units}", cells
    gaps = [offer.clearance_mm for offer in shown]
    yield f"gap\n{units}", ["?" if gap is None else reader.length(gap) for gap in gaps]
    for rows in wheels if reader.words.steers else ():
        faster = [wheel.steer_rate_change_percent for wheel in rows]
        cells = ["-" if percent is None else f"{percent:+.1f}" for percent in faster]
        yield f"{reader.side(rows[0].side)}steering\n%", cells


def _moves(wheel: TradedWheel, first: int, reader: Reader) -> str:
    return ", ".join(reader.length(move) for move in wheel.moves_mm[first : first + 3])
