"""What two sweeps tell beside each other: of one wheel with other stacks, or of both wheels."""

from optimizer.models.sweeps import Contradiction, Lesson, SideFinding
from optimizer.units import MM_PER_INCH, Units
from optimizer.wording.gauge_remedies import ARMS_PLACE, OTHER_WAY, SHIMS
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.templates import Length, filled

# Travel over which the file's owner thinks of a slope, and its name. [mm]
PER: dict[Units, tuple[float, str]] = {"mm": (10.0, "10 mm"), "in": (MM_PER_INCH, "inch")}
LESSON = (
    'From "{before}" to "{after}" each {shim} of outer drop plus {words.inner} raise was worth '
    "{worth:+.4f} deg per {per}.{deduced}"
)
DEDUCED = (
    " So the {words.arm}s are {place}: elsewhere it would have turned the curve the other way."
)
CONTRADICTIONS = {
    "same-parts": '"{before}" and "{after}" have the same parts fitted, yet their slopes differ by '
    "{slope:.3f} deg per {per}: have ride height, caster, camber or the gauge changed in between, "
    "or is there play?",
    "wrong-way": 'From "{before}" to "{after}" the outer pivot was {done} (or the {words.inner} '
    "{undone}) by {height:short}. With {words.arm}s {place} that turns the curve toward "
    "toe-{turns} in bump, but the readings went toward toe-{went}. One of these is wrong: the "
    "place of the arms, the sign of toe (reading_grows), the sign of travel, or which stack "
    "belongs to which sweep.",
    "odd-worth": 'Are the stacks as typed? From "{before}" to "{after}" the slope changed as '
    "{as_mm:short} of height would change it, but the stacks differ by {height:short}. Count the "
    "pieces first, then look at rod_length, steering_arm and the gauge's lengths.",
}
SIDES = {
    "alike": "The wheels pass for mirror images: beyond what different stacks explain, they differ "
    "by at most {by_deg:.3f} deg.",
    "differ": "The sides differ{beyond}: at travel {travel_mm} this wheel toes {way} by "
    "{by_deg:.3f} deg more than the {other} one. Each side needs a stack of its own.",
    "changed-over": "The stacks differ by {stacks_mm:short} and the slopes as {height_mm:short} of "
    "height would make them: changed over, the sides would agree. Were the shims fitted on the "
    "wrong sides?",
    "slopes": "Their slopes differ{amount}: look for shims on the wrong side, a {words.carrier} "
    "that is not level, or a bent {words.arm} or upright.",
    "curvatures": "Their curvatures differ: look for {words.rod}s of unequal length, a "
    "{words.carrier} that is not centered, or a bent arm.",
}
BEYOND = " beyond what stacks that are {stacks_mm:short} apart explain"
AMOUNT = ", as {height_mm:short} of height at one outer pivot would make"


@sentence.register
def _lesson(lesson: Lesson, reader: Reader) -> str:
    height_mm, shim = SHIMS[lesson.units]
    travel_mm, per = PER[lesson.units]
    worth = lesson.worth_deg_per_mm2 * height_mm * travel_mm
    deduced = ""
    if lesson.arms is not None:
        deduced = filled(DEDUCED, lesson, reader, place=ARMS_PLACE[lesson.arms])
    return filled(LESSON, lesson, reader, shim=shim, worth=worth, per=per, deduced=deduced)


@sentence.register
def _contradiction(found: Contradiction, reader: Reader) -> str:
    travel_mm, per = PER[found.units]
    lowered = found.height_mm > 0.0
    return filled(
        CONTRADICTIONS[found.kind],
        found,
        reader,
        per=per,
        slope=(found.by_deg_per_10mm or 0.0) * travel_mm / 10.0,
        height=Length(abs(found.height_mm), found.units),
        done="lowered" if lowered else "raised",
        undone="raised" if lowered else "lowered",
        place=found.arms and ARMS_PLACE[found.arms],
        turns=OTHER_WAY[found.went],
    )


@sentence.register
def _side(found: SideFinding, reader: Reader) -> str:
    amount = "" if found.height_mm is None else filled(AMOUNT, found, reader)
    beyond = "" if found.stacks_mm is None else filled(BEYOND, found, reader)
    return filled(SIDES[found.kind], found, reader, amount=amount, beyond=beyond)
