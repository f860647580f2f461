"""The usual cautions in words.

Common practice, no source: no load, limit or strength is invented here.
"""

from optimizer.models.cautions import Caution, CautionKind, Worsened
from optimizer.units import length_text
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import off_center, turned_to

TEXTS: dict[CautionKind, str] = {
    "dead-center": "{near}.",
    "steered": "{worse}",
    "turn": "{worse}",
    "single-shear": "A stack{of_length} puts the stud in single shear and bends it; stress grows "
    "with height. This program states no greatest height. A tapered seat with a solid adapter, "
    "double shear, or moving the {words.inner} instead spares the stud. {spacer}",
    "no-tilt-limit": "No tilt limit is stated for the joints: {words.swing} "
    "from full droop to full bump{words.at_locks} and make sure that no joint binds.",
    "no-obstacles": "No obstacles are stated: check {words.short_rod} and joint by hand against "
    "rim, disc and arm at {words.extremes}, tire and wheel fitted.",
    "inner-raised": "{words.raised}",
    "inner-shifted": "{words.shifted}",
    "lateral-brackets": "A lateral link's brackets hold the whole axle sideways: have them "
    "designed, made and braced by someone qualified, set the link to the length that centers the "
    "axle, and check it against everything around it over the whole travel. Every figure is of a "
    "link that leaves the axle where it was measured, at the height as measured.",
    "lift-block": "A lift block{of_length} is held by longer U-bolts alone, and braking rolls it "
    "over: ask whether one is allowed on an axle that steers, never stack blocks, have "
    "block, U-bolts and their torque chosen by someone qualified, and check brake hoses, drive "
    "shaft and the springs' stops over the whole travel. Every figure is at the ride height of the "
    "case: another block asks for other springs, or the truck stands elsewhere.",
    "shackle": "Another shackle carries the axle and tilts it: have it made and braced by someone "
    "qualified, reset caster, and see that it can't turn over or touch the frame over the whole "
    "travel.",
    "spaced-part": "A knuckle plate or a crossmember spacer lengthens bolts that hold the wheel: "
    "have plate, spacer and bolts, and those that do without them, chosen and made by someone "
    "qualified, and check everything that moves with them against rim, shafts and hoses over the "
    "whole travel, the steering shaft too.",
    "extension": "An extended lower ball joint carries the wheel: have joint, stud, taper and "
    "thread chosen for this arm and upright by someone qualified, and check it against rim, disc "
    "and stops over the whole travel{words.at_locks}.",
    "thread": "{resetting} changes the {words.short_rod}'s length by {length}: check how much "
    "thread is left engaged at both ends{words.alike}.",
    "taper-drilled": "{kit} is held by a straight bolt: fitting it drills the arm's taper out, "
    "which can't be undone and leaves the bolt located by clamping alone.",
    "taper-gone": "{kit} has a tapered stud, the car's own is a straight bolt: in an arm whose "
    "taper was drilled out a tapered stud finds no seat. It takes an arm with its taper whole.",
    "stud-unknown": "{kit} states no stud, and the car's own is held otherwise: what the stack "
    "asks of the stud is not judged.",
    "reset-toe": "{words.reset} before driving, use new self-locking nuts or split pins, re-torque "
    "after the first drive, and inspect after every event and every contact.",
    "taper": "Drilling a taper out to fit a bolt can't be undone; a tapered pin must seat over its "
    "whole length, from the side that its taper was cut for.",
    "no-heating": "Heating, bending or welding a {words.arm} is work for a specialist, where it is "
    "allowed at all{words.never}.",
    "judgement": "{words.failure} Have the work judged by someone licensed to do so where you "
    "live, and ask which changes the local roadworthiness rules allow.",
}
WORSE = (
    "{wheel}With the {rack} {it} makes toe change more over the travel than it does now: by "
    "{after} in place of {before}. It is chosen with the wheels ahead: {weigh}, or {state} "
    "to it (aim.also.steered_deg)."
)
TURNED = (
    "{wheel}With the {rack} {it} steers the inner wheel of a turn {after} than the outer one, in "
    "place of {before}{ideal}. {so}: {weigh}{or_limit}."
)
WEIGH = "weigh that before you fit it"
OR_LIMIT = ", or {state} to it (aim.also.turn_toe_out_deg)"
ROLLING = "; tires that roll freely ask for {ideal}"
ROUND = (
    "So it turns round which wheel of a turn is steered farther, and the tires scrub against each "
    "other"
)
SCRUB = "The tires scrub against each other"
UNKNOWN = "Track and wheelbase in [car] would tell what tires that roll freely ask for"
WASHERS = "Once the height is proved on the car, replace the washers by one solid spacer."
SOLID = "Make it one solid spacer, not many washers."


@sentence.register
def _caution(caution: Caution, reader: Reader) -> str:
    told = "" if caution.length_mm is None else _length(caution.kind, caution.length_mm, reader)
    near = "" if caution.near is None else sentence(caution.near, reader)
    return TEXTS[caution.kind].format(
        words=reader.words,
        resetting=reader.words.resetting.capitalize(),
        length=told,
        of_length=f" of {told}" if told else "",
        kit=caution.kit,
        near=near[:1].upper() + near[1:],
        spacer=WASHERS if caution.washers else SOLID,
        worse="" if caution.worsened is None else sentence(caution.worsened, reader),
    )


def _length(kind: CautionKind, length_mm: float, reader: Reader) -> str:
    """Write what was computed rounded, and what is fitted as it is."""
    if kind == "thread":
        return reader.length_with_unit(length_mm)
    return length_text(length_mm, reader.subject.units)


@sentence.register
def _worsened(worse: Worsened, reader: Reader) -> str:
    if worse.kind == "turn":
        return _turned(worse, reader)
    return WORSE.format(
        wheel=reader.of_wheel(worse.side),
        rack=off_center(worse, reader),
        it=_it(worse),
        weigh=WEIGH,
        state="lower the limit" if worse.limited else "state a limit",
        before=reader.toe_with_unit(worse.before_deg),
        after=reader.toe_with_unit(worse.after_deg),
    )


def _it(worse: Worsened) -> str:
    return "the custom pivot" if worse.custom else "number 1"


def _turned(worse: Worsened, reader: Reader) -> str:
    state = "narrow the limits" if worse.limited else "state limits"
    ideal, round_now = worse.ackermann_deg, worse.after_deg < 0.0 < worse.before_deg
    return TURNED.format(
        wheel=reader.of_wheel(worse.side),
        rack=turned_to(worse.rack_travel_mm, reader),
        it=_it(worse),
        weigh=WEIGH,
        or_limit="" if reader.subject.on_beam else OR_LIMIT.format(state=state),
        after=more_or_less(worse.after_deg),
        before=more_or_less(worse.before_deg),
        ideal="" if ideal is None else ROLLING.format(ideal=more_or_less(ideal)),
        so=ROUND if round_now else UNKNOWN if ideal is None else SCRUB,
    )


def more_or_less(angle_deg: float) -> str:
    """How much farther the inner wheel of a turn is steered than the outer one."""
    return f"{abs(angle_deg):.2f} deg {'less' if angle_deg < 0.0 else 'more'}"
