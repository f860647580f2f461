"""The section of a report about a pivot made to measure."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.custom_pivot import CustomPivot, TradeOff
from optimizer.models.suggest import SuggestResult
from optimizer.reports.words import way_of_turn
from optimizer.units import MM_PER_INCH
from optimizer.wording.fitting import stack_in_words
from optimizer.wording.reader import Reader

WIDEST_MM = 25.0  # tolerances are not followed farther
LESS = 0.8  # a trade-off is worth a line where its change is less than this share of the last one's

JUDGEMENT = (
    "Judged are only the limits that the case states. The strength of the part, its seat and its "
    "fixings is not: have it designed, made and approved by people licensed to do so. Prove the "
    "coordinates on the car with an adjustable pivot and a gauge before metal is cut."
)


def custom_pivot_section(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render the custom pivot of an answer that has one."""
    pivot = result.custom
    if pivot is None:
        return []
    return [
        Padding(_coordinates(pivot, reader), (0, 0, 0, 2)),
        *(
            Padding(Text(text), (0, 0, 0, 2))
            for text in (*_sentences(pivot, result, reader), JUDGEMENT)
        ),
        *_trade_offs(pivot, reader),
    ]


def _coordinates(pivot: CustomPivot, reader: Reader) -> Table:
    units = reader.subject.units
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    table.add_column("pivot")
    for name in (
        f"from its standard place\n{units}",
        f"make it to within, alone\n{units}",
        f"all off at once by\n{units}",
    ):
        table.add_column(name, justify="right")
    for told in pivot.coordinates:
        table.add_row(
            f"{told.pivot} {told.axis}",
            reader.machined(told.move_mm),
            _tolerance(told.tolerance_mm, reader),
            _tolerance(told.tolerance_together_mm, reader),
        )
    return table


def _tolerance(tolerance_mm: float, reader: Reader) -> str:
    if tolerance_mm == 0.0:
        return "-"
    more = " or more" if tolerance_mm >= WIDEST_MM else ""
    return f"±{reader.machined_below(tolerance_mm)}{more}"


def _sentences(pivot: CustomPivot, result: SuggestResult, reader: Reader) -> Iterator[str]:
    yield (
        "x forward, y to the left, z up, at the pose that was measured"
        f"{_beside(pivot, result, reader)}."
    )
    yield from (f"No: {reason}." for reason in pivot.reasons)
    yield _comparison(pivot, reader)
    if pivot.held_by:
        yield (
            f"It stands at a limit: {', '.join(pivot.held_by)}. More room there may bring it lower."
        )
    if not pivot.meets_tolerance:
        yield (
            f"Even so it leaves more than the wanted {reader.toe_with_unit(result.tolerance_deg)}."
        )
    if pivot.limits_within_tolerance:
        yield (
            f"Off by as much as the table says, toe stays within "
            f"{reader.toe_with_unit(result.tolerance_deg)}, but a limit may not be kept: "
            f"{', '.join(pivot.limits_within_tolerance)}."
        )
    yield from _steering(pivot, reader)
    sure = pivot.uncertainty
    yield (
        f"With points as accurate as the case says it peaks below "
        f"{reader.toe_with_unit(sure.peak_95_deg)} with 95 % probability and stays within "
        f"{reader.toe_with_unit(result.tolerance_deg)} with "
        f"{100.0 * sure.meets_tolerance_probability:.0f} %."
    )
    yield (
        f"Proof: none, the places of a pivot can't be listed; the study ({pivot.study_trials} "
        f"trials) and its refinement scored {pivot.pivots_scored:,} of them."
    )


def _beside(pivot: CustomPivot, result: SuggestResult, reader: Reader) -> str:
    parts = [] if pivot.kit is None else [f"the kit {pivot.kit}"]
    if pivot.outer_drop_mm:
        parts.append(f"a stack of {stack_in_words(pivot, reader)} on it")
    if pivot.rack_raise_mm:
        way = "raised" if pivot.rack_raise_mm > 0.0 else "lowered"
        parts.append(f"the {reader.words.inner} {way} by {reader.fitted(abs(pivot.rack_raise_mm))}")
    if pivot.ball_joint_drop_mm != result.as_is.ball_joint_drop_mm:
        drop = reader.fitted(pivot.ball_joint_drop_mm)
        parts.append(f"the lower ball joint {drop} down")
    for end, raised in (
        ("frame", pivot.frame_bracket_raise_mm),
        ("axle", pivot.axle_bracket_raise_mm),
    ):
        if raised:
            way = "raised" if raised > 0.0 else "lowered"
            by = reader.fitted(abs(raised))
            parts.append(f"the lateral link's {end} bracket {way} by {by}")
    return f"; with {' and '.join(parts)}" if parts else ""


def _comparison(pivot: CustomPivot, reader: Reader) -> str:
    peak, stack = pivot.peak_toe_change_deg, pivot.best_stack_peak_toe_change_deg
    text = f"Peak {reader.toe_with_unit(peak)}"
    if stack is None:
        return f"{text}; no straight stack keeps every limit."
    times = f": {stack / peak:.1f} times less" if peak < stack else ""
    return f"{text}, the best straight stack leaves {reader.toe_with_unit(stack)}{times}."


def _steering(pivot: CustomPivot, reader: Reader) -> Iterator[str]:
    cost, units, inner = pivot.steering, reader.subject.units, reader.words.inner
    if cost is None:
        return
    per = 1.0 if units == "mm" else MM_PER_INCH
    yield (
        f"Steering: this wheel steers {per * cost.rate_after_deg_per_mm:.3f} deg per {units} of "
        f"{inner}, {per * cost.rate_before_deg_per_mm:.3f} now ({cost.rate_change_percent:+.1f} %)."
    )
    turns = []
    for turn in cost.turn_toe_out:
        if turn.after_deg is not None and turn.before_deg is not None:
            way = way_of_turn(turn.rack_travel_mm, reader)
            turns.append(
                f"{turn.after_deg:+.2f} deg at {reader.length_with_unit(abs(turn.rack_travel_mm))} "
                f"of {inner} travel{f' to the {way}' if way else ''} ({turn.before_deg:+.2f} now)"
            )
    if turns:
        yield (
            f"The inner wheel of a turn, {reader.words.other_side}, steers more than the outer one "
            f"by {', '.join(turns)}."
        )


def _trade_offs(pivot: CustomPivot, reader: Reader) -> Iterator[RenderableType]:
    """Those of the trade-offs that ask for clearly less than the one before."""
    shown: list[TradeOff] = []
    for offer in pivot.trade_offs:
        last = shown[-1] if shown else pivot
        if offer.change_mm < LESS * last.change_mm:
            shown.append(offer)
    if not shown:
        return
    units, words = reader.subject.units, reader.words
    inner_moves = any(any(offer.moves_mm[3:]) for offer in shown)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    for name in (
        f"peak\n{reader.short_toe_unit}",
        f"moved in all\n{units}",
        f"outer x, y, z\n{units}",
        *([f"inner x, y, z\n{units}"] if inner_moves else []),
        f"{words.inner}\n{units}",
        f"gap\n{units}",
        *(["steering\n%"] if words.steers else []),
    ):
        table.add_column(name, justify="right")
    for offer in shown:
        faster = offer.steer_rate_change_percent
        table.add_row(
            reader.toe(offer.peak_toe_change_deg, signed=False),
            reader.length(offer.change_mm),
            _moves(offer.moves_mm[:3], reader),
            *([_moves(offer.moves_mm[3:], reader)] if inner_moves else []),
            reader.length(offer.rack_raise_mm, signed=True),
            "?" if offer.clearance_mm is None else reader.length(offer.clearance_mm),
            *([] if faster is None else [f"{faster:+.1f}"]),
        )
    counts = "peak, change, gap and steering" if words.steers else "peak, change and gap"
    yield Padding(
        Text(f"Less change for more toe; none is beaten on {counts} at once:"), (1, 0, 0, 2)
    )
    yield Padding(table, (0, 0, 0, 2))


def _moves(moves_mm: list[float], reader: Reader) -> str:
    return ", ".join(reader.length(move) for move in moves_mm)
