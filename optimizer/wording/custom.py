"""What a pivot made to measure promises, what it stands at, and what it costs."""

from collections.abc import Callable, Iterator, Sequence

from optimizer.models.answer import Fact
from optimizer.models.custom_pivot import (
    CustomPivot,
    CustomWheel,
    HeldByLimit,
    HeldByRoom,
    LeftByRule,
    MayBreak,
    SteeringCost,
)
from optimizer.models.suggest import SuggestResult
from optimizer.units import MM_PER, length_text, short_length
from optimizer.wording.cautions import more_or_less
from optimizer.wording.chances import ACCURATE, chances
from optimizer.wording.fitting import Move, moved, moved_parts, stack_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import way_of_turn

LEAST_PER_MM_DEG = 0.001  # what a millimeter of move must save
WIDEST_MM = 25.0  # tolerances are not followed farther
JUDGEMENT = (
    "Judged are only the limits that the case states. The strength of the part, its seat and its "
    "fixings is not: have it designed, made and approved by people licensed to do so. Prove the "
    "coordinates on the car with an adjustable pivot and a gauge before metal is cut."
)


@sentence.register
def _limit(limit: HeldByLimit | MayBreak, _: Reader) -> str:
    """Without capital and full stop, for a list, as a side of the room."""
    if limit.kind == "lock":
        return f"jamming of the {limit.name} before full lock"
    of_a_part = limit.kind in ("tilt", "reach")
    return f"{limit.kind} of the {limit.name}" if of_a_part else limit.name


@sentence.register
def _held_by_room(held: HeldByRoom, reader: Reader) -> str:
    length = length_text(held.move_mm, reader.subject.units)
    return f"room of the {held.pivot} pivot along {held.axis} ({length})"


@sentence.register
def _left_by_rule(left: LeftByRule, reader: Reader) -> str:
    """Without full stop."""
    units = reader.subject.units
    moves = " and ".join(
        f"{short_length(one.move_mm, units)} of {one.pivot} {one.axis}" for one in left.moves
    )
    return f"Another {moves} would bring {reader.toe_with_unit(left.gain_deg)}"


def custom_in_words(pivot: CustomPivot, result: SuggestResult, reader: Reader) -> Iterator[str]:
    """Say all of it, the car first, then each wheel."""
    beside = " and ".join(dict.fromkeys(_beside(pivot, reader)))
    aligned = any(wheel.alignment is not None for wheel in result.wheels)
    yield (
        "x forward, y to the left, z up, at the pose that was measured"
        f"{', the wanted alignment set' if aligned else ''}{f'; with {beside}' if beside else ''}."
    )
    yield from (f"No: {sentence(reason, reader)}." for reason in pivot.reasons)
    yield _comparison(pivot, reader)
    for wheel in pivot.wheels:
        for text in _of_a_wheel(wheel, result.tolerance_deg, reader):
            yield f"{reader.of_wheel(wheel.side)}{text}"
    yield (
        f"Proof: none, the places of a pivot can't be listed; the study (trials: "
        f"{pivot.study_trials}) and its refinement scored {pivot.pivots_scored:,} of them."
    )
    yield JUDGEMENT


def _beside(pivot: CustomPivot, reader: Reader) -> Iterator[str]:
    """What is fitted beside the pivots; what the wheels share comes out alike for each."""
    if pivot.kit is not None:
        yield f"the kit {pivot.kit}"
    shared = pivot.rack_raise_mm is not None
    for wheel in pivot.wheels:
        the = "the " if shared else f"the {reader.side(wheel.side)}"
        if wheel.outer_drop_mm:
            it = f"the {wheel.side} pivot" if reader.subject.both_wheels else "it"
            yield f"a stack of {stack_in_words(wheel, reader)} on {it}"
        for one in moved_parts(wheel, reader):
            yield f"{the}{one.part} {moved(one, _by(one, reader))}"


def _by(move: Move, reader: Reader) -> Callable[[float], str]:
    """How the amount of a move reads: "by" so much, of a part that is fitted just so much."""
    if move.along in ("up", "forward"):
        return lambda mm: f"by {reader.fitted(mm)}"
    return reader.fitted


def _comparison(pivot: CustomPivot, reader: Reader) -> str:
    peak, stack = pivot.peak_toe_change_deg, pivot.best_stack_peak_toe_change_deg
    text = f"Peak {reader.toe_with_unit(peak)}"
    if stack is None:
        return f"{text}; no straight stack keeps every limit."
    times = f": {stack / peak:.1f} times less" if peak < stack else ""
    return f"{text}, the best straight stack leaves {reader.toe_with_unit(stack)}{times}."


def _of_a_wheel(wheel: CustomWheel, tolerance_deg: float, reader: Reader) -> Iterator[str]:
    tolerance = reader.toe_with_unit(tolerance_deg)
    if wheel.held_by:
        held_by = _listed(wheel.held_by, reader)
        yield f"It stands at a limit: {held_by}. More room there may bring it lower."
    if not wheel.meets_tolerance:
        yield f"Even so it leaves more than the wanted {tolerance}."
    if wheel.left_by_rule is not None:
        least = f"{reader.toe_in_units(LEAST_PER_MM_DEG):.1g} {reader.short_toe_unit}"
        left = sentence(wheel.left_by_rule, reader)
        step = "a millimeter" if reader.subject.units == "mm" else reader.length_with_unit(1.0)
        yield f"{left}; {step} that saves less than {least} is left out."
    if wheel.limits_within_tolerance:
        yield (
            f"Off by as much as the table says, toe stays within {tolerance}, but a limit may not "
            f"be kept: {_listed(wheel.limits_within_tolerance, reader)}."
        )
    if wheel.steering is not None:
        if reader.subject.both_wheels:
            turn = f"In turns to the {wheel.side} this wheel, against the outer one,"
        else:
            turn = f"Against the outer wheel of a turn the inner one, {reader.words.other_side},"
        yield from _steering(wheel.steering, turn, reader.of_one_wheel(wheel.side))
    yield f"{ACCURATE} it {chances(wheel.uncertainty, tolerance_deg, reader)}."


def _listed(facts: Sequence[Fact], reader: Reader) -> str:
    return ", ".join(sentence(fact, reader) for fact in facts)


def _steering(cost: SteeringCost, inner_of_turn: str, reader: Reader) -> Iterator[str]:
    units, inner = reader.subject.units, reader.words.inner
    after, before = (
        f"{MM_PER[units] * rate:.3f}"
        for rate in (cost.rate_after_deg_per_mm, cost.rate_before_deg_per_mm)
    )
    yield (
        f"Steering: this wheel steers {after} deg per {units} of {inner}, {before} now "
        f"({cost.rate_change_percent:+.1f} %)."
    )
    turns = []
    for turn in cost.turn_toe_out:
        if turn.after_deg is not None and turn.before_deg is not None:
            at = turn.rack_travel_mm
            way = f" {reader.way_of_rack(at)}" if way_of_turn(at, reader) else ""
            turns.append(
                f"{more_or_less(turn.after_deg)} at {reader.length_with_unit(abs(at))} "
                f"of {inner} travel{way} (now {more_or_less(turn.before_deg)})"
            )
    if turns:
        yield f"{inner_of_turn} steers {', '.join(turns)}."
    yield from (sentence(one, reader) for one in cost.worsened)


def tolerance_in_words(tolerance_mm: float, reader: Reader) -> str:
    """Say in a cell how exactly a coordinate must be made; a dash where that is of no use."""
    if tolerance_mm == 0.0:
        return "-"
    more = " or more" if tolerance_mm >= WIDEST_MM else ""
    return f"±{reader.machined_below(tolerance_mm)}{more}"


def trade_offs_in_words(reader: Reader) -> str:
    """Introduce the trade-offs."""
    counts = "peak, change, gap and steering" if reader.words.steers else "peak, change and gap"
    return f"Less change for more toe; none is beaten on {counts} at once:"
