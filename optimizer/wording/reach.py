"""What stops a kit at a ride height, and how low or how high each goes, in words."""

from collections.abc import Sequence

from optimizer.models.reach import (
    CurveLeft,
    KitReach,
    NotAligned,
    NothingShared,
    NotJoined,
    OutOfBand,
    ReachResult,
    StackMissed,
    StopThere,
    WheelReach,
)
from optimizer.models.setting import NeededSetting
from optimizer.models.stops import Stop
from optimizer.units import MM_PER, short_length
from optimizer.wording.alignment import NOTHING_MM
from optimizer.wording.cures import CUSTOM, inner_moved
from optimizer.wording.fitting import each_fitted, moved, moved_parts, what_to_fit
from optimizer.wording.odds import chance
from optimizer.wording.outer_pivot import outer_height
from optimizer.wording.reach_map import height_column, is_lifted
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import of_a_wheel

SAID = 3  # heights that a sentence names; the map shows them all
MEETS = {False: "meets the tolerance", True: "keeps the wanted band"}
MET_IN = "On the car as it may really be, {height} is met in {met} such cars."


@sentence.register
def _not_aligned(stop: NotAligned, reader: Reader) -> str:
    return reader.wheel(stop.side) + " ".join(f"{stop.location} {stop.message}".split())


@sentence.register
def _not_joined(stop: NotJoined, reader: Reader) -> str:
    wheel = reader.wheel(stop.side)
    if stop.kind == "rod":
        return f"{wheel}the {reader.words.rod} can't follow the wheel over its travel"
    where = "at this ride height"
    if not stop.everywhere:
        by = short_length(stop.travel_mm or 0.0, reader.subject.units)
        where = f"over the last {by} of {stop.stroke}"
    return f"{wheel}the suspension can't be joined {where}"


@sentence.register
def _stack_missed(stop: StackMissed, reader: Reader) -> str:
    units, owner = reader.subject.units, "hardware" if stop.own_hardware else "kit"
    wants = f"{reader.wheel(stop.side)}needs {_needed(stop.needed, reader)}"
    if stop.kind == "step":
        off = f"{stop.by_mm / MM_PER[units]:.2g} {units}"
        return f"{wants}, {off} from the nearest that the {owner} builds"
    end = _end(stop.nearest_mm, lowest=stop.kind == "before")
    return f"{wants}, the {owner} {end} at {_stack(stop.nearest_mm, reader)}"


@sentence.register
def _stop_there(stop: StopThere, reader: Reader) -> str:
    there = "there" if stop.stack == "needed" else "with the best stack"
    return f"{reader.wheel(stop.side)}{there}, {of_a_wheel(stop, reader)}"


@sentence.register
def _curve_left(stop: CurveLeft, reader: Reader) -> str:
    leaves, beyond = reader.toe_with_unit(stop.needed.peak_toe_change_deg), ""
    if stop.hardware_ends_mm is not None:
        owner = "hardware" if stop.own_hardware else "kit"
        last = stop.hardware_ends_mm
        end = _end(last, lowest=stop.needed.outer_drop_mm < last)
        beyond = f", beyond {_stack(last, reader)}, where the {owner} {end},"
    return (
        f"{reader.wheel(stop.side)}even {_needed(stop.needed, reader)}{beyond} leaves {leaves}, "
        f"{reader.toe_excess(stop.by_deg)} too much: that is the curve's own shape, which no stack "
        f"cures{_rod_cure(stop, reader)}"
    )


def _rod_cure(stop: CurveLeft, reader: Reader) -> str:
    """Say what would cure it: another length of the rod, or a pivot made to measure."""
    if stop.cure is None or not stop.cure.longer_mm:
        return f"; {CUSTOM}"
    settled = stop.needed.model_copy(update={"outer_drop_mm": stop.cure.outer_drop_mm})
    return (
        f"; {inner_moved(stop.cure.longer_mm, reader)} and {_needed(settled, reader)} would leave "
        f"{reader.toe_with_unit(stop.cure.peak_toe_change_deg)}, no limit looked at; {CUSTOM}"
    )


@sentence.register
def _out_of_band(stop: OutOfBand, reader: Reader) -> str:
    verdict = sentence(stop.verdict, reader)
    return f"{reader.wheel(stop.side)}what comes nearest to the band's middle is {verdict}"


@sentence.register
def _nothing_shared(_: NothingShared, reader: Reader) -> str:
    return f"each wheel meets it alone, but not both with the {reader.words.inner} at one place"


def _end(stack_mm: float, *, lowest: bool) -> str:
    """What hardware does at its lowest or its tallest stack, counted away from the seat."""
    return "starts" if lowest == (stack_mm >= 0.0) else "ends"


def _stack(drop_mm: float, reader: Reader) -> str:
    """Name a stack that hardware has or would need; the usual way goes without saying."""
    by = short_length(abs(drop_mm), reader.subject.units)
    plain = drop_mm > -NOTHING_MM and reader.subject.stud == "down"
    return by if plain else outer_height(drop_mm, by, reader)


def _needed(needed: NeededSetting, reader: Reader) -> str:
    units = reader.subject.units
    beside = [
        f"the {one.part} {moved(one, lambda mm: short_length(mm, units))}"
        for one in moved_parts(needed, reader)
    ]
    stack = _stack(needed.outer_drop_mm, reader)
    return f"{stack} with {' and '.join(beside)}" if beside else stack


def alignments(result: ReachResult, reader: Reader) -> list[str]:
    """Say what must be moved at each height where the case asks for an alignment."""
    _, heights = height_column(result, reader)
    told = [
        f"{heights[row.lowered_by_mm]}: {reader.of_wheel(wheel.side)}{text}"
        for row in result.heights
        if row.kit == result.kits[0].name
        for wheel in row.wheels
        for text in _alignment(wheel, reader.of_one_wheel(wheel.side))
    ]
    return ["The wanted alignment is set anew at each height:", *told] if told else []


def _alignment(wheel: WheelReach, reader: Reader) -> list[str]:
    if wheel.alignment is not None:
        return [sentence(wheel.alignment.what_to_move, reader)]
    return [sentence(stop, reader) for stop in wheel.reasons if isinstance(stop, NotAligned)]


def how_far_in_words(result: ReachResult) -> str:
    """Head what follows: how low each kit goes, or of a lifted car how high."""
    return f"How {'high' if is_lifted(result) else 'low'} each goes"


def within_in_words(result: ReachResult, reader: Reader) -> tuple[str, str]:
    """Within what peaks are to stay: of how far each goes, and of the map."""
    if result.has_band:
        return " inside the wanted band", " from the middle of the wanted band"
    within = f"within {reader.toe_with_unit(result.tolerance_deg)}"
    return f" with its peak {within}", f" {within}"


def how_far(kit: KitReach, called: str, result: ReachResult, reader: Reader) -> list[str]:
    """Say how low, or how high, a kit goes on the car, and of two wheels on each by itself."""
    rows, lifted = [row for row in result.heights if row.kit == kit.name], is_lifted(result)
    alone = [
        _how_far_alone([(row.lowered_by_mm, row.wheels[k]) for row in rows], result, reader)
        for k in range(len(result.subject.sides))
    ]
    if not result.subject.both_wheels:
        return [f"{called} {alone[0]}."]
    farthest = _farthest(kit, result)
    both = "at none of these heights"
    if farthest is not None:
        both = f"{'up' if lifted else 'down'} to {_height(farthest, reader)}"
    return [
        f"{called}: both wheels at once {both}.",
        *(
            f"The {side} wheel alone {text}."
            for side, text in zip(result.subject.sides, alone, strict=True)
        ),
    ]


def _farthest(kit: KitReach, result: ReachResult) -> float | None:
    """The lowest height that a kit meets, or the highest of a lifted car. [mm lower]."""
    met = [row.lowered_by_mm for row in result.heights if row.kit == kit.name and row.reachable]
    return max(met, key=abs if is_lifted(result) else float, default=None)


def in_numbers(kit: KitReach, result: ReachResult, reader: Reader) -> list[str]:
    """Say which tolerance a kit would meet, and how far one setting of it serves."""
    if kit.least_deg is None or kit.least_at_mm is None:
        return []
    tolerance = reader.toe_with_unit(result.tolerance_deg)
    least, every = reader.toe_with_unit(kit.least_deg), "none at all of these heights"
    if kit.all_heights_deg is not None:
        every = f"{reader.toe_with_unit(kit.all_heights_deg)} at all of these heights"
    told = [f"It would meet a tolerance of {least} at {_height(kit.least_at_mm, reader)}, {every}."]
    if result.has_band:
        told, tolerance = [], "the wanted band"
    told += _met_in(kit, result, reader)
    spot = kit.sweet_spot
    if spot is not None:
        fitted = "; ".join(each_fitted(spot.wheels, reader, what_to_fit))
        high, low = (_height(x, reader) for x in (spot.highest_mm, spot.lowest_mm))
        width = reader.length_with_unit(spot.lowest_mm - spot.highest_mm)
        where = (
            f"from {high} to {low}, {width} of ride height" if high != low else f"at {high} only"
        )
        reset = f"{reader.words.is_reset} at each"
        told.append(f"One setting ({fitted}) stays within {tolerance} {where}, {reset}.")
    return told


def _met_in(kit: KitReach, result: ReachResult, reader: Reader) -> list[str]:
    """Say how surely a kit meets the farthest of its heights, or the one that suits it best."""
    farthest = _farthest(kit, result)
    at = kit.least_at_mm if farthest is None else farthest
    return [
        MET_IN.format(
            height=_height(row.lowered_by_mm, reader), met=chance(row.chances.met_probability)
        )
        for row in result.heights
        if row.kit == kit.name and row.lowered_by_mm == at and row.chances is not None
    ]


def _how_far_alone(
    rows: Sequence[tuple[float, WheelReach]], result: ReachResult, reader: Reader
) -> str:
    """Say how far a kit goes on one wheel, given by height, and what stops it one height beyond."""
    lifted, meets = is_lifted(result), MEETS[result.has_band]
    away = -1.0 if lifted else 1.0
    met = [height for height, wheel in rows if wheel.reachable]
    if not met:
        return _none_met(rows, meets, reader)
    farthest = max(met, key=lambda height: away * height)
    text = f"{meets} {'up' if lifted else 'down'} to {_height(farthest, reader)}"
    missed = [
        height for height, wheel in rows if away * (farthest - height) > 0.0 and not wheel.reachable
    ]
    if missed:
        heights = ", ".join(_height(height, reader) for height in missed[:SAID])
        more = "" if len(missed) <= SAID else f" and {len(missed) - SAID} more"
        text += f", but not at {heights}{more}"
    if beyond := [(height, wheel) for height, wheel in rows if away * (height - farthest) > 0.0]:
        text += f"; {_stopped(*min(beyond, key=lambda one: away * one[0]), reader)}"
    return text


def _none_met(rows: Sequence[tuple[float, WheelReach]], meets: str, reader: Reader) -> str:
    fitting = [(height, wheel) for height, wheel in rows if wheel.alone_peak_deg is not None]
    if not fitting:
        first = max(rows, key=lambda row: any(isinstance(one, Stop) for one in row[1].reasons))
        return f"keeps every limit at none of these heights; {_stopped(*first, reader)}"
    height, best = min(fitting, key=lambda one: one[1].alone_peak_deg or 0.0)
    peak = reader.toe_with_unit(best.alone_peak_deg or 0.0)
    return (
        f"{meets} at none of these heights; its smallest peak is {peak}; "
        f"{_stopped(height, best, reader)}"
    )


def _stopped(lowered_by_mm: float, wheel: WheelReach, reader: Reader) -> str:
    reasons = "; ".join(sentence(one, reader.of_one_wheel(wheel.side)) for one in wheel.reasons)
    return f"at {_height(lowered_by_mm, reader)}: {reasons}"


def _height(lowered_by_mm: float, reader: Reader) -> str:
    if lowered_by_mm == 0.0:
        return "the height as measured"
    way = "lower" if lowered_by_mm > 0.0 else "higher"
    return f"{reader.length_with_unit(abs(lowered_by_mm))} {way}"
