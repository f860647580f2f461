"""What stops a setting, where, and by how much; and what is tightest."""

from math import ceil, log10

from optimizer.models.limits import TOLD_TO
from optimizer.models.stops import AtPlace, DeadCenter, DeadCenterKind, Ends, Stop, Tightest
from optimizer.units import MM_PER, short_length
from optimizer.wording.odds import chance
from optimizer.wording.reader import LENGTH_DECIMALS, Reader
from optimizer.wording.sentences import sentence

MOST_DECIMALS = 6
DEAD_CENTERS: dict[DeadCenterKind, str] = {
    "rod-arm": "{words.short_rod} and {words.arm} come within {angle} of one line",
    "cross-rod": "cross rod and arm come within {angle} of one line",
    "inner": "the {words.short_rod} comes within {angle} of square to the {words.inner}'s way",
    "wheel": "the way of the wheel center comes within {angle} of level",
}
ENDS: dict[Ends, str] = {
    "arms": "the suspension can't be joined there, whatever the {words.rod} does",
    "rod": "the {words.rod} can't follow",
    "line": "{words.short_rod} and arm come into line on the way",
}


@sentence.register
def _stop(stop: Stop, reader: Reader) -> str:
    """Without capital and full stop, for a list; the wheel is named where both were measured."""
    return reader.wheel(stop.side) + of_a_wheel(stop, reader)


@sentence.register
def _tightest(tight: Tightest, reader: Reader) -> str:
    """Without capital and full stop, for a list."""
    value, where = tight.value or 0.0, place(tight, reader)
    if tight.kind == "tilt":
        return f"{tight.name} tilts {value:.1f} of {tight.limit:.1f} deg at {where}"
    verb = "leaves" if value >= 0.0 else "overlaps by"
    return f"{tight.name} {verb} {short_length(abs(value), reader.subject.units)} at {where}"


def of_a_wheel(stop: Stop, reader: Reader) -> str:
    """Say what stops a setting, whichever wheel it is of."""
    units, where = reader.subject.units, place(stop, reader)
    value, limit = stop.value or 0.0, stop.limit or 0.0
    if stop.kind == "reach":
        return f"the {stop.name} can't reach {where}"
    if stop.kind == "lock":
        return _jams(stop, reader)
    if stop.kind == "tilt":
        n = _decimals(stop.short, 1)
        return (
            f"{stop.name} binds by {stop.short:.{n}f} deg at {where} "
            f"(tilts {value:.{n}f}, limit {limit:.1f} deg)"
        )
    if stop.kind == "stud":
        force = f"the stated {reader.words.short_rod} force"
        return f"stud reaches its {stop.name} at {value:.2f} x {force}"
    if stop.kind == "steered":
        return (
            f"toe changes by {reader.toe_with_unit(value)} at {where}, "
            f"{reader.toe_excess(stop.short)} more than aim.also.steered_deg allows"
        )
    if stop.kind == "turn":
        return (
            f"turn toe-out is {value:.2f} deg with the {off_center(stop, reader)}, "
            f"aim.also.turn_toe_out_deg asks for at {stop.name} {limit:.2f} deg"
        )
    if stop.kind == "roll":
        return (
            f"roll steer is {value:.3f} deg per deg, aim.also.roll_steer asks for at {stop.name} "
            f"{limit:.3f}"
        )
    if stop.kind == "chance":
        return f"{stop.name} is kept in {chance(value)} possible cars only, wanted {chance(limit)}"
    n = _decimals(stop.short / MM_PER[units], LENGTH_DECIMALS[units])
    short, kept = (f"{max(0.0, x) / MM_PER[units]:z.{n}f} {units}" for x in (stop.short, value))
    if stop.kind == "thread":
        least = short_length(limit, units)
        if value <= 0.0:
            return (
                f"{stop.name} comes apart in {reader.words.resetting}, {short} short of the least "
                f"of {least} engaged"
            )
        return (
            f"{stop.name} keeps {kept} engaged after {reader.words.resetting}, {short} less than "
            f"the least of {least}"
        )
    less = f", {short} less than wanted" if limit > 0.0 or value >= 0.0 else ""
    if value < 0.0:
        by = -value / MM_PER[units]
        n = _decimals(by, LENGTH_DECIMALS[units])
        return f"{stop.name} touches by {by:.{n}f} {units} at {where}{less}"
    return f"{stop.name} leaves {kept} at {where}{less}"


def _decimals(short: float, usual: int) -> int:
    """Decimals that tell what a limit falls short by, more than usual where that is a trifle."""
    return usual if short <= 0.0 else min(MOST_DECIMALS, max(usual, ceil(-log10(2.0 * short))))


def over_everything(reader: Reader) -> str:
    """Where limits were looked at, and how exactly they are told."""
    lock = " and lock" if reader.words.steers else ""
    units = reader.subject.units
    return f" over the whole travel{lock}, to {TOLD_TO / MM_PER[units]:.1g} {units}"


def _jams(stop: Stop, reader: Reader) -> str:
    """Say how far the rack goes before the steering jams, and what comes into line there."""
    full = short_length(stop.limit or 0.0, reader.subject.units)
    where = f"{off_center(stop, reader, of=f' of {full}')} at {_height(stop, reader)}"
    return f"the steering jams at {where}: {stop.name} and arm come into line"


@sentence.register
def _dead_center(near: DeadCenter, reader: Reader) -> str:
    """Without capital and full stop."""
    does = DEAD_CENTERS[near.kind].format(words=reader.words, angle=f"{near.angle_deg:.1f} deg")
    kept = f"{near.least_deg:g} deg are to be kept (common practice, no source)"
    return f"{reader.wheel(near.side)}{does} at {place(near, reader)}; {kept}"


def place(at: AtPlace, reader: Reader) -> str:
    """Name a wheel travel and a rack travel."""
    height = _height(at, reader)
    if at.rack_travel_mm == 0.0:
        return f"{height}{reader.words.straight}"
    return f"{height}, {off_center(at, reader)}"


def _height(at: AtPlace, reader: Reader) -> str:
    if at.travel_mm == 0.0:
        return "ride height"
    stroke = "bump" if at.travel_mm > 0.0 else "droop"
    return f"{short_length(abs(at.travel_mm), reader.subject.units)} {stroke}"


def way_of_turn(rack_travel_mm: float, reader: Reader) -> str | None:
    """Which way a turn goes, where the two ways differ: on a beam axle."""
    return reader.side_of_rack(rack_travel_mm) if reader.subject.on_beam else None


def turned_to(rack_travel_mm: float, reader: Reader) -> str:
    """Name the rack travel of a turn."""
    way = way_of_turn(rack_travel_mm, reader) or "off"
    return f"{reader.words.inner} {reader.length_with_unit(abs(rack_travel_mm))} {way}"


def off_center(at: AtPlace, reader: Reader, of: str = "") -> str:
    """Name a rack travel."""
    length = short_length(abs(at.rack_travel_mm), reader.subject.units)
    return f"{reader.words.inner} {length}{of} {reader.way_of_rack(at.rack_travel_mm)}"
