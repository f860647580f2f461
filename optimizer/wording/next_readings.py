"""What to read next, in words: what it takes, and in how many cars that would be enough."""

from optimizer.models.next_reading import (
    Measured,
    Nearer,
    NextReading,
    NextReadings,
    ReadingKind,
)
from optimizer.units import short_length
from optimizer.wording.odds import percent
from optimizer.wording.outer_pivot import height_moved, outer_height
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.templates import filled

WHAT: dict[ReadingKind, str] = {
    "sweep": "the same sweep once more",
    "rod_turned": "turn the {words.rod} by {turns} and read again",
    "sideways": "one dial at the height of the wheel's center, {at}",
    "camber": "camber {at}",
    "steered": "angles on turn plates at four {words.inner} travels",
    "turn_toe_out": "toe-out on turns, plates under both wheels, at four {words.inner} travels",
    "caster_sweep": "camber with the wheel steered 20 deg out and in",
    "three_with_stack": "fit {stack} and read {at}",
    "point": "measure {spots} again to {to}",
    "length": "measure {spots} again to {to}",
    "points": "measure {spots} again to {to}, all of them",
}
SHORT: dict[ReadingKind, str] = {
    "sweep": "another sweep",
    "rod_turned": "read with the {words.rod} turned",
    "sideways": "how far the wheel moves sideways",
    "camber": "camber {at}",
    "steered": "angles on turn plates",
    "turn_toe_out": "toe-out on turns",
    "caster_sweep": "a caster sweep",
    "three_with_stack": "{count} heights with {stack}",
    "point": "{spots} measured again to {to}",
    "length": "{spots} measured again to {to}",
    "points": "{spots} measured again to {to}",
}
FIRST_SWEEP = "a sweep from end to end of the used travel"
FEW = 3
NUMBERS = {2: "two", 3: "three"}
READING = (
    "{what} ({minutes:g} min): then enough in {of_100} of 100, {loss} lost, tolerance kept in {met}"
)
SHARES = " ({first} of the peak's spread alone, {total} with others)"
NOW = (
    "Of 100 cars that tape and readings still allow, what has been read is enough in {of_100}: no "
    "other setting is better by more than {resolution} there. On average {loss} is lost, and the "
    "tolerance is kept in {met}."
)
BEFORE = (
    "Of 100 cars that the tape allows, its points are enough in {of_100}: no other setting is "
    "better by more than {resolution} there. On average {loss} is lost, and the tolerance is kept "
    "in {met}."
)
WORTH = "Worth reading next: {what}."
NOTHING = "Nothing more is worth reading for this decision."
NEARER = (
    "outer {outer}{inner} would be enough in {of_100}, for a peak that is {gain} lower on average"
)


def of_100(share: float) -> str:
    """Whole cars of a hundred; never all of them, nor none."""
    if share < 1.0:
        return "fewer than 1"
    return f"{share:.0f}" if share <= 99.0 else "more than 99"


@sentence.register
def _reading(one: NextReading, reader: Reader) -> str:
    what, shares = _what(WHAT, one, reader), _shares(one)
    said = filled(
        READING,
        one,
        reader,
        what=what,
        of_100=of_100(one.enough_of_100),
        met=of_100(one.meets_of_100),
        loss=_lost(one.loss_deg, reader),
    )
    return f"{said}{shares}"


def _lost(loss_deg: float, reader: Reader) -> str:
    """Write what is lost, a trifle not as nothing."""
    told = reader.toe_with_unit(loss_deg)
    if loss_deg > 0.0 and not float(reader.toe(loss_deg)):
        told = reader.toe_excess(loss_deg)
    return _of_arc(told, reader)


def _of_arc(toe: str, reader: Reader) -> str:
    """Tell minutes of arc from those of time, beside which they stand."""
    return f"{toe} of arc" if reader.subject.toe_unit == "min" else toe


@sentence.register
def _measured(one: Measured, reader: Reader) -> str:
    """Name a coordinate or a length."""
    return f"{one.points[0]} {one.axis}" if one.axis else f"length {' to '.join(one.points)}"


def _shares(one: NextReading) -> str:
    """What of the spread of the peak is due to what is measured again, where one spot is."""
    if len(one.measured) != 1 or one.measured[0].first_order is None:
        return ""
    spot = one.measured[0]
    first, total = (percent(max(0.0, x or 0.0)) for x in (spot.first_order, spot.total_order))
    return SHARES.format(first=first, total=total)


def _what(said: dict[ReadingKind, str], one: NextReading, reader: Reader) -> str:
    """Name a reading with its heights, three of them or fewer each by itself, and its stack."""
    count, at = len(one.travel_mm), "at the heights of the sweep"
    if count <= FEW:
        listed = [reader.length(x, signed=bool(x)) for x in one.travel_mm]
        at = f"at {', '.join(listed[:-1])} and {''.join(listed[-1:])} {reader.subject.units}"
    stack = "what is best by tape" if one.by_tape else "that stack"
    if not one.is_next:
        drop = one.outer_drop_mm or 0.0
        stack = f"outer {outer_height(drop, reader.fitted(abs(drop)), reader)} for it"
    if one.kind == "sweep" and one.by_tape:
        return FIRST_SWEEP
    turns = {"mm": "two turns of 1.5 mm", "in": "two turns, about 1/8 in,"}[reader.subject.units]
    named = {"turns": turns, "at": at, "count": NUMBERS.get(count, "all"), "stack": stack}
    if one.to_mm is not None:
        named["spots"] = ", ".join(sentence(spot, reader) for spot in one.measured)
        named["to"] = short_length(one.to_mm, reader.subject.units)
    return said[one.kind].format(words=reader.words, **named)


def next_reading_in_brief(readings: NextReadings, reader: Reader) -> str:
    """Say in a line whether what has been read is enough, and what is worth reading next."""
    enough = of_100(readings.enough_of_100)
    now = f"Enough in {enough} of 100 such cars; "
    for one in readings.ranked:
        if one.worth_it:
            then, gain = of_100(one.enough_of_100), readings.loss_deg - one.loss_deg
            told = f"in {then}" if then != enough else f"saves {_lost(gain, reader)} on average"
            return f"{now}{_what(SHORT, one, reader)} ({one.minutes:g} min): {told}."
    if readings.nearer is not None:
        return f"{now}no reading makes it more, but {_nearer(readings.nearer, reader)}."
    return f"{now}nothing more is worth reading."


def _nearer(one: Nearer, reader: Reader) -> str:
    drop, up = one.outer_drop_mm, one.rack_raise_mm
    return NEARER.format(
        outer=outer_height(drop, reader.fitted(abs(drop)), reader),
        inner="" if up is None else f", {reader.words.inner} {height_moved(up, reader)}",
        of_100=of_100(one.enough_of_100),
        gain=_lost(one.gain_deg, reader),
    )


def next_readings(
    readings: NextReadings, reader: Reader, *, before: bool = False
) -> tuple[str, list[str], str]:
    """Say whether what has been read is enough, what each reading brings, and which is worth it."""
    now = (BEFORE if before else NOW).format(
        of_100=of_100(readings.enough_of_100),
        met=of_100(readings.meets_of_100),
        resolution=_of_arc(reader.resolution, reader),
        loss=_lost(readings.loss_deg, reader),
    )
    worth = [WORTH.format(what=sentence(x, reader)) for x in readings.ranked if x.worth_it]
    nothing = NOTHING
    if readings.nearer is not None:
        nearer = _nearer(readings.nearer, reader)
        nothing = f"{NOTHING} {nearer[0].upper()}{nearer[1:]}."
    return now, [sentence(x, reader) for x in readings.ranked], "".join(worth) or nothing
