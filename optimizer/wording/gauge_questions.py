"""Questions about readings, by themselves and beside the case that they are of.

The ranges that they hint at are common practice, no source.
"""

from functools import partial

from optimizer.models.answer import Fact
from optimizer.models.questions import (
    IdleShelf,
    NotBuilt,
    NotToe,
    OtherArms,
    OtherAxle,
    OtherRack,
    OtherStack,
    OtherTravel,
    OtherWheel,
    OutOfReach,
    PlayFelt,
    PoorFit,
    Question,
    QuestionKind,
    ShortStroke,
    SidesExchanged,
    Slip,
    SlipKind,
    StackDoubt,
)
from optimizer.units import length_text
from optimizer.wording.gauge_remedies import ARMS_PLACE
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.slip import SLIP_OR_CURVE
from optimizer.wording.templates import filled

FAR_OFF = 3.0  # standard deviations that no one would blame on the tape alone
TEXTS: dict[QuestionKind, str] = {
    "large-change-in-degrees": "Toe changes by {by_deg:.1f} deg over the sweep: are these minutes "
    'typed as degrees (angle_unit = "min")?',
    "large-change": "Toe changes by {by_deg:.1f} deg over the sweep: are units and the gauge's "
    "lengths right?",
    "seconds-of-arc": "Toe changes by only {seconds:.0f} seconds of arc: were minutes written down "
    "as seconds, or divided by 60 twice?",
    "droop-without-minus": "Travel rises and falls, but no height is below 0: did the droop "
    "readings lose their minus sign?",
    "minus-lost": "No {column} reading is below 0, and the rows have a kink; with some of them "
    "below 0 they would lie on a smooth curve: did minus signs get lost?",
    "row-apart": "{typed} (travel {travel_mm}) stands apart from the others by {by_deg:.3f} deg "
    "and was left out: read it again?",
    "rows-changed-over": "{typed} would lie on a smooth curve as each other's: were the two "
    "changed over?",
    "gauge-slipped": "From travel {to_mm} up all rows lie {by_deg:.3f} deg beside the curve of "
    "those up to {travel_mm}: did the gauge slip between the two, or go by a turn uncounted? Does "
    "it read at ride height what it did?",
    "scatter": "The rows scatter by {by_deg:.3f} deg about one curve, more than a gauge does: is a "
    "row mistyped, or does something bind or move that should not?",
    "odd-step": "Travel steps by {usual_mm}, but from {travel_mm} to {to_mm}: is a row missing or "
    "a height mistyped?",
    "ride-height-outside": "Ride height lies outside the heights that were read: what is said of "
    "slope there is drawn out from the curve. Is at_ride_height right?",
    "ride-height-not-read": "No row is at ride height: toe there is taken from the curve.",
    "zeroed-elsewhere": "The gauge reads zero at travel {travel_mm} and not at ride height, where "
    "it is zeroed as a rule: is that the ride height (at_ride_height), or was travel counted from "
    "another one?",
    "odd-reach": "Travel reaches {travel_mm} from ride height: were {meant} typed in a file of "
    "{units}?",
    "turns-added": "Turns of the hand that the dial does not show were added to {typed}, counted "
    "from the lowest height: is the count right?",
    "half-turn": "Between two heights a hand moves by nearly half a turn, so its turns can't be "
    "counted with certainty: read in smaller steps of travel.",
    "radius-for-diameter": "spacing is {spacing_mm}, half of the tire's {diameter_mm}: was a "
    "radius taken for a diameter?",
    "gauge-below-tire": "The gauge reads over {spacing_mm}, the tire is {diameter_mm}: at the tire "
    "every toe distance is {times:.2f} times what the gauge shows.",
    "all-alike": "All rows read the same: did the gauge touch, and are the rows filled in?",
    "column-alike": "The {column} reading is the same in every row. Unless the gauge was set to it "
    "at every height: was that place never read, or did the gauge not touch there? One dial alone "
    "is a kind of its own (single-dial).",
    "narrow-gauge": "spacing is {spacing_mm}: is that the whole distance between the two places "
    "where the gauge reads, and is it in {units}?",
    "near-dial": "dial_distance is {spacing_mm}: is that the whole distance from the axle to the "
    "dial, and is it in {units}?",
    "wide-gauge": "spacing is {spacing_mm}, more than most tires: is that the distance between the "
    "two places where the gauge reads, and is it in {units}?",
    "far-dial": "dial_distance is {spacing_mm}, beyond most tires: is it counted from the axle and "
    "not from another dial, and is it in {units}?",
    "play": "Up and down strokes differ by {by_deg:.3f} deg: look for play or stiction in rod "
    "ends, {words.also_worn}bushings and wheel bearing before shimming.",
    "no-diameter": "No diameter is stated (car.tire_diameter), so slopes in inch per inch are "
    "taken at {diameter_mm}.",
    "lone-dial": "One dial on its own also sees the wheel move sideways and change camber: without "
    "the points of a case that can't be told from toe. Use two dials, or a roller.",
    "angle-sign": "Degrees without a sign of their own: toe-in is taken as positive. Is that how "
    'they were written (reading_grows = "toe-in" or "toe-out")?',
    "angle-wheels": "Is that the toe of this wheel, as it is taken, or of both wheels together "
    "(total = false or true)?",
    "lone-target": "One target on its own also sees the wheel move sideways: use a second target "
    "on the other side of the axle, or turn the beam round and sweep again.",
}
SLIPS: dict[SlipKind, str] = {
    "turned": "turned round they would: is reading_grows right, and were front and rear, or plus "
    "and minus, kept apart?",
    "column-turned": "with the sign of every {column} reading turned round they would: did the two "
    "grow opposite ways, or was the sign of one not written down?",
    "other-end": "with the dial at the other end they would: is dial_at right?",
    "exchanged": "with bump and droop exchanged they would: is the sign of travel right?",
    "doubled": "twice the toe would: is the gauge's length typed twice as long as it is, or one "
    "wheel's toe taken for half of both?",
    "halved": "half of the toe would: is the gauge's length typed half as long as it is, or the "
    "toe of both wheels typed as that of one?",
    "tenfold": "ten times the toe would: is the decimal point where the gauge showed it?",
    "tenth": "a tenth of the toe would: is the decimal point where the gauge showed it?",
    "travel-doubled": "twice the travel would: was it read at the wheel, from ride height, and not "
    "at the damper or the arm?",
    "travel-halved": "half of the travel would: is it that of the wheel, counted from ride height?",
    "times-60": "60 times the toe would: were minutes typed as seconds, or degrees as minutes?",
    "by-60": "a 60th of the toe would: were minutes typed as degrees?",
    "inches": "25.4 times the toe would: were inches typed where the file says mm?",
    "millimeters": "a 25.4th of the toe would: were millimeters typed where the file says inches?",
}
PLAY = {
    "meaningless": "The sweep says nothing: {what} makes {by_deg:.2f} deg of toe, the whole sweep "
    "changes it by {swing_deg:.2f} deg. {cure} {list}",
    "noise": "{what} makes {by_deg:.2f} deg of toe, the whole sweep changes it by {swing_deg:.2f} "
    "deg: it is counted as noise. {cure} {list}",
    "arm-unknown": "{what} can't be weighed without car.steering_arm: its toe is the slide over "
    "that length. {cure} {list}",
}
PLAY_OF = {
    "gauge": "Play that push and pull by hand shows",
    "inner": "The {words.inner}'s slide in its mounts",
}
PLAY_CURE = {
    "gauge": "Find the joint, bearing or mount that moves and put it right before the next sweep.",
    "inner": "Take that slide out before the next sweep.",
}
PLAIN: dict[type[Fact], str] = {
    OtherAxle: "The readings are of a {said} wheel, the case is of a {measured} one: do they "
    "belong together?",
    OtherTravel: "The readings say that the car uses {bump_mm} of bump and {droop_mm} of droop, "
    "the case says {case_bump_mm} and {case_droop_mm}: it is the case's travel that is judged.",
    IdleShelf: "The shelf of the readings is not used beside a case: the next stack is built "
    "from the case's own hardware. Are the pieces at hand in the case?",
    OtherWheel: "The readings are of the {said} wheel, the case is of the {measured} one: they "
    "are taken for its mirror image. Is the car symmetric?",
    SidesExchanged: "As typed, the sweeps of the two wheels do not fit the points within their "
    "accuracy; with left and right exchanged they would: is side right in each file?",
    OtherRack: "The last sweep of the left wheel has the {words.inner} raised by {left_mm}, that "
    "of the right wheel by {right_mm}, but it serves both: {taken_mm} is taken, as in the last "
    "sweep given. Is that how it is now?",
    PoorFit: "Even with its points moved, the model misses the readings by {times:.1f} times "
    "their noise: something bends, binds or is not as the case says.",
}
SHORT_STROKE = (
    "The car uses {used_mm} of {stroke}, but {swept} was swept; the rest is not judged. Sweep on, "
    "if the joints allow it."
)
NOT_TOE = (
    "At travel {travel_mm} this gauge shows {shown_deg:+.3f} deg, of which "
    "{no_toe_deg:+.3f} deg is no toe, by the case's points, but {what_else}. "
    "That is taken off here, as well as the points are known; two dials need no such correction."
)
MOVES = {
    True: "the wheel moving fore and aft",
    False: "the wheel moving sideways and changing camber",
}
TIPS = "the beam tipping with the upright, in the plane of a wheel with camber"
OTHER_ARMS = (
    "The readings say that the {words.arm}s are {said_place}, the points of the case that they are "
    "{place}: which is right?"
)
OUT_OF_REACH = (
    "\"{sweep}\": the points of the case can't reach travel {heights}, so those rows don't correct "
    "them: is the sweep of this car, with this ride height?"
)


NOT_BUILT = {
    "stack": 'The stack of "{sweep}" is typed as {typed_mm}, but the case\'s hardware goes from '
    "{least_mm} to {most_mm}: are its sign, its size and its unit right?",
    "rack": 'The {words.inner} raise of "{sweep}" is typed as {typed_mm}, but the spacers of the '
    "case go from {least_mm} to {most_mm}: are its sign, its size and its unit right?",
}
OTHER_STACKS: dict[StackDoubt, str] = {
    "stack": 'Is the stack of "{sweep}" as typed? {typed_mm} is typed; {explains_mm} (give or take '
    "{give_or_take_mm:short}) at the outer pivot, or as much less or more at the {words.inner}, "
    "would explain the readings. That a stack is mistyped is {likely} likely; {rest}. Count the "
    "pieces before anything is measured again.",
    "stack-sign": 'Is the stack of "{sweep}" typed with the right sign? {typed_mm} is typed; '
    "{explains_mm} would explain the readings. That something is mistyped is {likely} likely; "
    "{rest}. Look which way the pivot was moved before anything is measured again.",
    "rack-sign": 'Is the {words.inner} raise of "{sweep}" typed with the right sign? {typed_mm} is '
    "typed, below 0 for lowered; {explains_mm} would explain the readings. That something is "
    "mistyped is {likely} likely; {rest}. Look which way it was moved before anything is measured "
    "again.",
}
REST = "the rest is a point that is {tape_sigmas:.1f} standard deviations of its tape off"
NO_POINT = "no point moved within its tape explains them"


@sentence.register
def _play(felt: PlayFelt, reader: Reader) -> str:
    what = PLAY_OF[felt.of].format(words=reader.words)
    text = PLAY[felt.kind]
    if felt.kind == "meaningless":
        what = what[0].lower() + what[1:]
    return filled(text, felt, reader, what=what, cure=PLAY_CURE[felt.of], list=SLIP_OR_CURVE)


@sentence.register
def _other_stack(other: OtherStack, reader: Reader) -> str:
    likely = "more than 99 %" if other.probability > 0.99 else f"{other.probability * 100.0:.0f} %"
    rest = REST.format(tape_sigmas=other.tape_sigmas) if other.tape_sigmas > FAR_OFF else NO_POINT
    return filled(OTHER_STACKS[other.of], other, reader, likely=likely, rest=rest)


@sentence.register
def _short_stroke(short: ShortStroke, reader: Reader) -> str:
    swept = "only {swept_mm} of it" if short.swept_mm > 0.0 else "none of it"
    return filled(SHORT_STROKE.replace("{swept}", swept), short, reader)


@sentence.register
def _question(asked: Question, reader: Reader) -> str:
    text = TEXTS[asked.kind]
    return filled(
        text if asked.sweep is None else f'"{{sweep}}": {text}',
        asked,
        reader,
        typed=", ".join(f"readings[{row}]" for row in asked.rows),
        seconds=(asked.by_deg or 0.0) * 3600.0,
        meant={"mm": "inches", "in": "millimeters"}[asked.units],
        times=(asked.diameter_mm or 0.0) / (asked.spacing_mm or 1.0),
    )


@sentence.register
def _slip(slip: Slip, _: Reader) -> str:
    kinds = (slip.kind, *slip.or_kinds)
    could = "; or ".join(SLIPS[kind].format(column=slip.column) for kind in kinds)
    beside = "what was swept beside it and " if slip.beside_others else ""
    fits = f'As typed, "{slip.sweep}" does not fit {beside}the points within their accuracy'
    return f"{fits}; {could}"


@sentence.register
def _not_built(found: NotBuilt, reader: Reader) -> str:
    return filled(NOT_BUILT[found.of], found, reader)


@sentence.register
def _not_toe(part: NotToe, reader: Reader) -> str:
    what_else = TIPS if part.tipping else MOVES[part.fore_aft]
    return filled(NOT_TOE, part, reader, what_else=what_else)


@sentence.register
def _other_arms(other: OtherArms, reader: Reader) -> str:
    places = {"said_place": ARMS_PLACE[other.said], "place": ARMS_PLACE[other.measured]}
    return filled(OTHER_ARMS, other, reader, **places)


@sentence.register
def _out_of_reach(lost: OutOfReach, reader: Reader) -> str:
    heights = ", ".join(length_text(height, lost.units) for height in lost.travel_mm)
    return filled(OUT_OF_REACH, lost, reader, heights=heights)


for family, template in PLAIN.items():
    sentence.register_kind(family, partial(filled, template))
