"""What a setting changes beside the toe curve: the figures with their names, and what they mean."""

from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from optimizer.models.side_effects import (
    BeforeAfter,
    Definition,
    GradientKind,
    SideEffects,
    Turn,
)
from optimizer.units import MM_PER
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import turned_to

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
GUIDE = (
    "{rod} and {arm} angle are a guide only: parallel in the front view is not free of bump steer."
)
GUIDE_ON_LINKS = (
    "{rod} angle is a guide only: parallel to a link in the front view is not free of bump steer."
)
DEFINITIONS: dict[GradientKind, str] = {
    "ride-toe": "change of this wheel's toe, toe-in positive, per wheel travel, bump positive, "
    "both wheels moved together: the slope at ride height, not the range over the travel (SAE "
    "J1574)",
    "ride-steer": "ride steer gradient as ISO 23365:2022, 7.2.5, uses the words: the same with the "
    "sign of the steer angle, positive to the left (ISO 8855), so toe-in is negative on a left "
    "wheel",
    "roll-steer": "roll steer gradient as ISO 23365:2022, 7.2.13, uses the words: change of steer "
    "angle, positive to the left, per roll angle of the body, positive to the right, with the "
    "wheels moved opposite ways (roll angle = 2 x travel / track) and the slope taken at ride "
    "height (SAE J1574); toe-in in bump makes it positive",
}
RATE_DECIMALS = {"mm": 4, "in": 3}
SMALLEST_PERCENT = 0.05  # less than this is written as 0.0 %


@sentence.register
def _definition(definition: Definition, _: Reader) -> str:
    """Without capital and full stop."""
    return DEFINITIONS[definition.kind]


class Figure(Struct, frozen=True):
    """A figure of a wheel now and with that fitted; `beside` stands by its unit, after its `name`.

    A `gradient` is what the toe curve was changed for, and told where it is unchanged too.
    """

    what: str
    now: str
    then: str
    unit: str
    name: str = ""
    beside: str = ""
    gradient: bool = False


def units_in_words(wheels: Sequence[Figure]) -> str:
    """Unit of a figure, and in brackets what stands beside it for each wheel."""
    said = " / ".join(dict.fromkeys(wheel.beside for wheel in wheels if wheel.beside))
    return f"{wheels[0].unit} ({wheels[0].name}{said})" if said else wheels[0].unit


def unchanged_in_words(same: Sequence[Sequence[Figure]]) -> list[str]:
    """Say in one sentence what stays as it is, each figure of every wheel."""
    told = [
        f"{wheels[0].what} {' / '.join(wheel.now for wheel in wheels)} {units_in_words(wheels)}"
        for wheels in same
    ]
    return [f"Unchanged: {', '.join(told)}."] if told else []


def figures(found: SideEffects, reader: Reader) -> Iterator[Figure]:
    """Figures of a wheel in the order of a report."""
    if reader.words.steers:
        yield from _steered(found, reader)
    yield from _over_travel(found, reader)
    yield from _centers(found, reader)
    yield from _gradients(found, reader)
    yield from _angles(found, reader)


def _steered(found: SideEffects, reader: Reader) -> Iterator[Figure]:
    toe, units, inner = reader.short_toe_unit, reader.subject.units, reader.words.inner
    for curve in found.steered:
        way = reader.way_of_rack(curve.rack_travel_mm)
        where = f"{inner} {reader.length_with_unit(abs(curve.rack_travel_mm))} {way}"
        yield _figure(
            f"toe change, {where}", curve.peak_deg, lambda x: reader.toe(x, signed=False), toe
        )
    yield from (_turn(turn, reader) for turn in found.turn_toe_out)
    faster = found.steer_rate_change_percent or 0.0
    rate = _figure(
        "steering ratio",
        found.steer_rate_deg_per_mm,
        lambda x: reader.angle(x * MM_PER[units], RATE_DECIMALS[units], signed=False),
        f"deg per {units} of {inner}",
    )
    yield replace(rate, beside=f"{faster:+.1f} %" if abs(faster) >= SMALLEST_PERCENT else "")


def _turn(turn: Turn, reader: Reader) -> Figure:
    now, then = (
        "-" if angles is None else reader.angle(angles.toe_out_deg)
        for angles in (turn.before, turn.after)
    )
    ideal = None if turn.after is None else turn.after.ackermann_toe_out_deg
    beside = "" if ideal is None else reader.angle(ideal)
    where = turned_to(turn.rack_travel_mm, reader)
    return Figure(f"turn toe-out, {where}", now, then, "deg", "Ackermann ", beside)


def _over_travel(found: SideEffects, reader: Reader) -> Iterator[Figure]:
    units, length = reader.subject.units, _signed_length(reader)
    for what, change, text, unit in (
        ("camber change in full bump", found.camber_change_in_bump_deg, reader.angle, "deg"),
        ("camber change in full droop", found.camber_change_in_droop_deg, reader.angle, "deg"),
        ("half-track change in full bump", found.half_track_change_in_bump_mm, length, units),
        ("half-track change in full droop", found.half_track_change_in_droop_mm, length, units),
    ):
        yield _figure(what, change, text, unit)


def _centers(found: SideEffects, reader: Reader) -> Iterator[Figure]:
    units, length = reader.subject.units, _signed_length(reader)
    if found.roll_center_height_mm.before is None:
        return
    if not reader.subject.on_beam:
        middle = reader.spelled("instant center")
        yield _figure(f"{middle}, inboard", found.instant_center_inboard_mm, length, units)
        yield _figure(f"{middle}, height", found.instant_center_height_mm, length, units)
    yield _figure(reader.spelled("roll center, height"), found.roll_center_height_mm, length, units)


def _gradients(found: SideEffects, reader: Reader) -> Iterator[Figure]:
    ride = _figure(
        "ride steer gradient, toe-in +",
        found.ride_toe_gradient,
        lambda x: reader.slope(x / 100.0),
        f"{reader.short_toe_unit} per {reader.per}",
    )
    yield replace(ride, gradient=True)
    if found.roll_steer_gradient.before is not None:
        roll = _figure(
            "roll steer gradient",
            found.roll_steer_gradient,
            lambda x: reader.angle(x, 3),
            "deg per deg of roll",
        )
        yield replace(roll, gradient=True)


def _angles(found: SideEffects, reader: Reader) -> Iterator[Figure]:
    words, units, length = reader.words, reader.subject.units, _signed_length(reader)
    guide = "angle, front view (a guide)"
    if found.rod_angle_deg.before is not None:  # a drag link along the car has none
        yield _figure(f"{words.short_rod} {guide}", found.rod_angle_deg, reader.angle, "deg")
    if found.arm_angle_deg.before is not None:
        yield _figure(f"{_arm(reader)} {guide}", found.arm_angle_deg, reader.angle, "deg")
    yield _figure("camber", found.camber_deg, reader.angle, "deg")
    if not words.steers:
        return
    yield _figure("caster", found.caster_deg, reader.angle, "deg")
    yield _figure("kingpin inclination", found.kingpin_inclination_deg, reader.angle, "deg")
    yield _figure("scrub radius", found.scrub_radius_mm, length, units)
    yield _figure("mechanical trail", found.mechanical_trail_mm, length, units)


def definitions(found: SideEffects, reader: Reader) -> Iterator[str]:
    """Say what the figures mean."""
    words, steered, centers = reader.words, "", ""
    if words.steers:
        other = OTHER_WHEEL if reader.subject.both_wheels else words.other_side
        steered = STEERED.format(inner=words.inner, other=other)
    if found.roll_center_height_mm.before is not None:
        centers = BEAM_CENTER if reader.subject.on_beam else CENTERS
    yield reader.spelled((steered + centers).strip())
    if words.off_center and (found.steered or found.turn_toe_out):
        yield words.off_center
    ride = sentence(found.ride_toe_gradient.definition, reader)
    yield f"Ride steer gradient, toe-in +: {ride}."
    yield _capital(sentence(found.ride_steer_gradient.definition, reader))
    if found.roll_steer_gradient.before is not None:
        yield _capital(sentence(found.roll_steer_gradient.definition, reader))
    if found.rod_angle_deg.before is None:
        return
    guide = GUIDE_ON_LINKS if found.arm_angle_deg.before is None else GUIDE
    yield guide.format(rod=words.short_rod.capitalize(), arm=_arm(reader).replace(" ", "-"))


def _arm(reader: Reader) -> str:
    """What the rod is held against in the front view."""
    return "lateral link" if reader.subject.on_beam else "arm"


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _figure(what: str, pair: BeforeAfter, text: Callable[[float], str], unit: str) -> Figure:
    now, then = ("-" if x is None else text(x) for x in (pair.before, pair.after))
    return Figure(what, now, then, unit)


def _signed_length(reader: Reader) -> Callable[[float], str]:
    return lambda x: reader.length(x, signed=True)
