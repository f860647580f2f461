"""The section of a report about what else the proposed setting changes."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.side_effects import BeforeAfter, SideEffects, Turn
from optimizer.models.suggest import SuggestResult
from optimizer.models.vocabulary import Vocabulary
from optimizer.reports.words import way_of_turn
from optimizer.units import MM_PER
from optimizer.wording.reader import Reader


@dataclass(frozen=True)
class _Row:
    """A figure now and with number 1; `beside` is what stands by its unit, after its `name`."""

    what: str
    now: str
    then: str
    unit: str
    name: str = ""
    beside: str = ""

    def in_units(self, *others: str) -> str:
        """Unit, and in brackets what stands beside this row and other wheels' rows."""
        said = " / ".join(dict.fromkeys(filter(None, (self.beside, *others))))
        return f"{self.unit} ({self.name}{said})" if said else self.unit


STEERED = (
    "Toe change with the {inner} off center: the greatest, from the toe that the wheel has there "
    "at ride height. Turn toe-out: inner minus outer wheel, {other}. Scrub "
    "radius is positive with the contact point outboard of the steering axis, mechanical trail "
    "with it behind. "
)
CENTERS = (
    "Instant center, from the wheel's own path: so far inboard of the contact point, so high above "
    "the ground."
)
OTHER_WHEEL = "left in turns to the left, right in turns to the right"
BEAM_CENTER = (
    "Roll center: the point, so high above the ground, about which the axle rolls under the frame, "
    "in the plane across the car through the wheel centers."
)
RATE_DECIMALS = {"mm": 4, "in": 3}
SMALLEST_PERCENT = 0.05  # less than this is written as 0.0 %
GUIDE = (
    "{rod} and {arm} angle are a guide only: parallel in the front view is not free of bump steer."
)
GUIDE_ON_LINKS = (
    "{rod} angle is a guide only: parallel to a link in the front view is not free of bump steer."
)


def side_effects_section(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    """Render what number 1 changes beside the toe curve; nothing where it is the car as it is."""
    if result.ranked[0].is_as_is or not result.ranked[0].fits:
        return []
    found = result.side_effects
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    table.add_column("")
    for title in ("now", "number 1"):
        table.add_column(title, justify="right")
    table.add_column("")
    same = []
    for row in _rows(found, reader):
        if row.now == row.then and "gradient" not in row.what:
            same.append(f"{row.what} {row.now} {row.in_units()}")
        else:
            table.add_row(row.what, row.now, row.then, row.in_units())
    unchanged = [f"Unchanged: {', '.join(same)}."] if same else []
    texts = (*unchanged, *_definitions(found, reader.words, reader.words.other_side))
    return [
        Padding(table, (0, 0, 0, 2)),
        *(Padding(Text(text), (0, 0, 0, 2)) for text in texts),
    ]


def side_effects_of_both(
    left: SuggestResult, right: SuggestResult, reader: Reader
) -> list[RenderableType]:
    """Render what number 1 changes on both wheels; nothing where it leaves both as they are."""
    firsts = (left.ranked[0], right.ranked[0])
    if all(row.is_as_is for row in firsts) or not all(row.fits for row in firsts):
        return []
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    table.add_column("", no_wrap=True)
    for title in ("left\nnow", "left\nnumber 1", "right\nnow", "right\nnumber 1"):
        table.add_column(title, justify="right")
    table.add_column("")
    pairs = zip(_rows(left.side_effects, reader), _rows(right.side_effects, reader), strict=True)
    for one, other in pairs:
        if (one.now, other.now) != (one.then, other.then) or "gradient" in one.what:
            figures = (one.now, one.then, other.now, other.then)
            table.add_row(one.what, *figures, one.in_units(other.beside))
    return [
        Padding(table, (0, 0, 0, 2)),
        *(
            Padding(Text(text), (0, 0, 0, 2))
            for text in _definitions(left.side_effects, reader.words, other=OTHER_WHEEL)
        ),
    ]


def _rows(found: SideEffects, reader: Reader) -> Iterator[_Row]:
    if reader.words.steers:
        yield from _steered(found, reader)
    yield from _over_travel(found, reader)
    yield from _at_ride_height(found, reader)


def _steered(found: SideEffects, reader: Reader) -> Iterator[_Row]:
    toe, units, inner = reader.short_toe_unit, reader.subject.units, reader.words.inner
    for curve in found.steered:
        side = "to the left" if curve.rack_travel_mm > 0.0 else "to the right"
        where = f"{inner} {reader.length(abs(curve.rack_travel_mm))} {units} {side}"
        yield _row(
            f"toe change, {where}", curve.peak_deg, lambda x: reader.toe(x, signed=False), toe
        )
    yield from (_turn(turn, reader) for turn in found.turn_toe_out)
    faster = found.steer_rate_change_percent or 0.0
    row = _row(
        "steering ratio",
        found.steer_rate_deg_per_mm,
        lambda x: reader.angle(x * MM_PER[units], RATE_DECIMALS[units], signed=False),
        f"deg per {units} of {inner}",
    )
    yield replace(row, beside=f"{faster:+.1f} %" if abs(faster) >= SMALLEST_PERCENT else "")


def _turn(turn: Turn, reader: Reader) -> _Row:
    units, inner = reader.subject.units, reader.words.inner
    now, then = (
        "-" if angles is None else reader.angle(angles.toe_out_deg)
        for angles in (turn.before, turn.after)
    )
    ideal = None if turn.after is None else turn.after.ackermann_toe_out_deg
    beside = "" if ideal is None else reader.angle(ideal)
    way = way_of_turn(turn.rack_travel_mm, reader) or "off"
    where = f"{inner} {reader.length(abs(turn.rack_travel_mm))} {units} {way}"
    return _Row(f"turn toe-out, {where}", now, then, "deg", "Ackermann ", beside)


def _over_travel(found: SideEffects, reader: Reader) -> Iterator[_Row]:
    units = reader.subject.units
    yield _row("camber change in full bump", found.camber_change_in_bump_deg, reader.angle, "deg")
    yield _row("camber change in full droop", found.camber_change_in_droop_deg, reader.angle, "deg")
    for end, change in (
        ("bump", found.half_track_change_in_bump_mm),
        ("droop", found.half_track_change_in_droop_mm),
    ):
        yield _row(f"half-track change in full {end}", change, _signed_length(reader), units)


def _at_ride_height(found: SideEffects, reader: Reader) -> Iterator[_Row]:
    units, length, words = reader.subject.units, _signed_length(reader), reader.words
    if found.roll_center_height_mm.before is not None:
        if words.rod != "drag link":
            yield _row("instant center, inboard", found.instant_center_inboard_mm, length, units)
            yield _row("instant center, height", found.instant_center_height_mm, length, units)
        yield _row("roll center, height", found.roll_center_height_mm, length, units)
    yield _row(
        "ride steer gradient, toe-in +",
        found.ride_toe_gradient,
        lambda x: reader.slope(x / 100.0),
        f"{reader.short_toe_unit} per {reader.per}",
    )
    if found.roll_steer_gradient.before is not None:
        yield _row(
            "roll steer gradient",
            found.roll_steer_gradient,
            lambda x: reader.angle(x, 3),
            "deg per deg of roll",
        )
    yield _row(
        f"{words.short_rod} angle, front view (a guide)", found.rod_angle_deg, reader.angle, "deg"
    )
    if found.arm_angle_deg.before is not None:
        name = "lateral link" if words.rod == "drag link" else "arm"
        yield _row(f"{name} angle, front view (a guide)", found.arm_angle_deg, reader.angle, "deg")
    yield _row("camber", found.camber_deg, reader.angle, "deg")
    if not words.steers:
        return
    yield _row("caster", found.caster_deg, reader.angle, "deg")
    yield _row("kingpin inclination", found.kingpin_inclination_deg, reader.angle, "deg")
    yield _row("scrub radius", found.scrub_radius_mm, length, units)
    yield _row("mechanical trail", found.mechanical_trail_mm, length, units)


def _definitions(found: SideEffects, words: Vocabulary, other: str) -> Iterator[str]:
    steered = STEERED.format(inner=words.inner, other=other) if words.steers else ""
    centers = BEAM_CENTER if words.rod == "drag link" else CENTERS
    yield (steered + (centers if found.roll_center_height_mm.before is not None else "")).strip()
    if words.off_center and (found.steered or found.turn_toe_out):
        yield words.off_center
    yield f"Ride steer gradient, toe-in +: {found.ride_toe_gradient.definition}."
    yield f"{_capital(found.ride_steer_gradient.definition)}."
    if found.roll_steer_gradient.before is not None:
        yield f"{_capital(found.roll_steer_gradient.definition)}."
    arm = "lateral-link" if words.rod == "drag link" else "arm"
    guide = GUIDE_ON_LINKS if found.arm_angle_deg.before is None else GUIDE
    yield guide.format(rod=words.short_rod.capitalize(), arm=arm)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _row(name: str, pair: BeforeAfter, text: Callable[[float], str], unit: str) -> _Row:
    now, then = ("-" if x is None else text(x) for x in (pair.before, pair.after))
    return _Row(name, now, then, unit)


def _signed_length(reader: Reader) -> Callable[[float], str]:
    return lambda x: reader.length(x, signed=True)
