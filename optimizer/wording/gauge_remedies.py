"""What a measured curve means on the car, and what cures it."""

from optimizer.models.lengths import ShimWorth
from optimizer.models.remedies import (
    OVAL_IN_PER_IN,
    PRODUCTION_IN_PER_IN,
    RACE_IN_PER_IN,
    Arms,
    BetweenHeights,
    CountedFrom,
    CurvatureUnknown,
    CurveShape,
    FromShelf,
    HeightError,
    HeldAgainstBand,
    LengthError,
    Matters,
    Way,
)
from optimizer.units import MM_PER_INCH, Units, short_length
from optimizer.wording.cures import cure_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.templates import Length, filled

# Height that is spoken of, and its name; in inches the thinnest usual washer. [mm]
SHIMS: dict[Units, tuple[float, str]] = {"mm": (1.0, "1 mm"), "in": (MM_PER_INCH / 32.0, "1/32 in")}
PER_TRAVEL_MM: dict[Units, float] = {"mm": 25.0, "in": MM_PER_INCH}
ARMS_PLACE: dict[Arms, str] = {"ahead": "ahead of the axle", "behind": "behind the axle"}
OTHER_WAY = {"in": "out", "out": "in", None: ""}
COUNTED = {
    "band": "All of this counts from the middle of the wanted band.",
    "gain": "All of this counts beyond the wanted gain of {gain_deg_per_10mm:+.3f} deg per 10 mm.",
}
BEYOND = "Against what is wanted, "
SHAPES = {
    "keeps": "The wheel keeps its toe within the wanted tolerance.",
    "keeps-as-swept": "The wheel keeps its toe within the wanted tolerance as far as it was swept.",
    "bump": "The wheel toes {way} in bump; droop is not judged.",
    "droop": "The wheel toes {way} in droop; bump is not judged.",
    "c": "The wheel toes {way} both in bump and in droop (a C).",
    "slope": "The wheel toes {way} in bump and toes {other} in droop.",
    "lopsided-slope": "The wheel toes {way} in bump and toes {other} in droop, lopsidedly.",
}
HEIGHTS = {
    "arms-unknown": "That slope is a height error. Which way to move depends on where the "
    "{words.arm}s are: state arms, ahead of or behind the axle.",
    "lengths-unknown": "That slope is a height error ({words.arm}s {place}): {what}. With "
    "rod_length and steering_arm the amount can be said too.",
    "amount": "That slope is a height error ({words.arm}s {place}): {what}, by about {by_mm:short} "
    "from what is fitted now (first order, front view; {shim} is worth {worth} per {travel} of "
    "travel).",
    "tried": "That slope is a height error ({words.arm}s {place}): {what}, by about {by_mm:short} "
    "from what is fitted now (by what the other stack did; {shim} is worth {worth} per {travel} of "
    "travel).{far}",
    "worth": "That slope is a height error ({words.arm}s {place}): {what} ({shim} is worth {worth} "
    "per {travel} of travel, first order, front view); how much is told under what to fit next.",
    "worth-by-points": "That slope is a height error: {what} ({shim} is worth {worth} per {travel} "
    "of travel, by the points); how much is told under what to fit next.",
}
FAR = (
    " That is {times_tried:.0f} times what was tried: fit half of it, sweep again, and ask once "
    "more."
)
FROM_SHELF = (
    "Of the shelf: {stack}, {height_mm:short} {counted} ({target_mm:short} asked for); that leaves "
    "a slope of {left} {unit}."
)
NONE_TO_ADD = {
    True: "Of the shelf: nothing; the outer pivot must go {below:short} above its standard seat, "
    "which no shim under it does: lower the {words.inner}, or fit the joint to the arm's other "
    "side.",
    False: "Of the shelf: nothing to add; {below:short} must come out of what is fitted, or the "
    "{words.inner} go down.",
}
LEAST_ASKED_MM = 0.05
LENGTHS = {
    "arms-unknown": "Shims can't cure the part that goes the same way in bump and droop: it is a "
    "length error; state arms, ahead or behind, to hear which way.",
    "lengths-unknown": "Shims can't cure the part that goes the same way in bump and droop: it is "
    "a length error; {what}.",
    "amount": "Shims can't cure the part that goes the same way in bump and droop: it is a length "
    "error; {what}, by about {by_mm:short}.",
}
CURVATURE_UNKNOWN = (
    "Two heights tell the mean slope between {low_mm} and {high_mm}; what goes the same way in "
    "bump and droop is not known. One more reading at {tells} would tell it."
)
BETWEEN = {
    True: "From {first_mm} to {second_mm}, as the rows count heights, toe changes by "
    "{change_deg:+.3f} deg: inside what the maker wants ({least_deg:+.3f} to {most_deg:+.3f} deg).",
    False: "From {first_mm} to {second_mm}, as the rows count heights, toe changes by "
    "{change_deg:+.3f} deg: {beyond_deg:.3f} deg outside what the maker wants ({least_deg:+.3f} to "
    "{most_deg:+.3f} deg).",
}
WITHIN = {
    "within": "It does not matter: toe stays within the tolerance over the used travel.",
    "within-as-swept": "It does not matter: toe stays within the tolerance over the part that was "
    "swept.",
    "rear": "Does it matter? At {slope_in_per_in:.3f} in per in: no band that is accepted for a "
    "rear axle is known here. A maker may mean some toe change at the rear: hold it against the "
    "maker's band, if there is one (aim.band).{feels}",
}
BANDS = {
    "race": f"inside what racers accept ({RACE_IN_PER_IN:.3f} in per in)",
    "oval": f"more than racers accept ({RACE_IN_PER_IN:.3f} in per in), near what is often quoted "
    f"for paved ovals ({OVAL_IN_PER_IN:.3f})",
    "production": f"about what production cars have, {PRODUCTION_IN_PER_IN[0]:.3f} to "
    f"{PRODUCTION_IN_PER_IN[1]:.3f} in per in of toe-out in bump",
    "toe-in": f"more than racers accept ({RACE_IN_PER_IN:.3f} in per in), and no production car's: "
    "those toe out in bump",
    "darts": f"more than production cars have ({PRODUCTION_IN_PER_IN[1]:.3f} in per in of toe-out "
    "in bump): the car will dart over bumps",
}
SOURCE = " (Bands: common practice, no source.)"
# How each way is felt, in front and at the rear; common practice, no source.
FEELS: dict[bool, dict[Way, str]] = {
    True: {
        "in": " Toe-in in bump is the worse way on the road: as the body rolls, the outer wheel "
        "steers further into the bend and the car turns in more than it was asked to.",
        "out": " Toe-out in bump is the milder way: as the body rolls, the outer wheel steers out "
        "of the bend a little, which is felt as understeer.",
    },
    False: {
        "in": " Toe-in in bump is the milder way at the rear: as the body rolls, the outer wheel "
        "turns into the bend and steadies the tail.",
        "out": " Toe-out in bump is the worse way at the rear: as the body rolls, the outer wheel "
        "turns out of the bend and the tail comes round.",
    },
}


@sentence.register
def _counted_from(counted: CountedFrom, reader: Reader) -> str:
    return filled(COUNTED[counted.kind], counted, reader)


@sentence.register
def _shape(shape: CurveShape, reader: Reader) -> str:
    said = filled(SHAPES[shape.kind], shape, reader, other=OTHER_WAY[shape.way])
    return f"{BEYOND}{said[0].lower()}{said[1:]}" if shape.beyond_wanted and shape.way else said


@sentence.register
def _height(error: HeightError, reader: Reader) -> str:
    units = reader.subject.units
    (height_mm, shim), travel_mm = SHIMS[units], PER_TRAVEL_MM[units]
    worth_deg = (error.worth_deg_per_mm2 or 0.0) * height_mm * travel_mm
    by_angle = reader.subject.toe_unit in ("deg", "min")
    worth = f"{60.0 * worth_deg:.1f} minutes" if by_angle else reader.toe_with_unit(worth_deg)
    return filled(
        HEIGHTS[error.kind],
        error,
        reader,
        place=error.arms and ARMS_PLACE[error.arms],
        what=error.cure
        and cure_in_words(error.cure, reader.words, along=reader.subject.moves_along),
        shim=shim,
        worth=worth,
        travel=short_length(travel_mm, units),
        far="" if error.times_tried is None else FAR.format(times_tried=error.times_tried),
    )


@sentence.register
def _from_shelf(found: FromShelf, reader: Reader) -> str:
    if found.target_mm < -LEAST_ASKED_MM:
        below = Length(-found.target_mm, found.units)
        return filled(NONE_TO_ADD[found.from_seat], found, reader, below=below)
    counted = "in all from the standard seat" if found.from_seat else "more than is fitted now"
    stack = reader.pieces(list(found.stack_mm)) or "no piece at all"
    left = reader.slope(found.left_deg_per_10mm)
    unit = f"{reader.short_toe_unit} per {reader.per}"
    told = {"stack": stack, "counted": counted, "left": left, "unit": unit}
    return filled(FROM_SHELF, found, reader, **told)


@sentence.register
def _length(error: LengthError, reader: Reader) -> str:
    what = error.cure and cure_in_words(error.cure, reader.words, along=reader.subject.moves_along)
    return filled(LENGTHS[error.kind], error, reader, what=what)


@sentence.register
def _curvature_unknown(unknown: CurvatureUnknown, reader: Reader) -> str:
    away = short_length(unknown.tells_mm, reader.subject.units)
    tells = f"travel {away}" if unknown.tells_mm else "ride height"
    return filled(CURVATURE_UNKNOWN, unknown, reader, tells=tells)


@sentence.register
def _between(between: BetweenHeights, reader: Reader) -> str:
    return filled(BETWEEN[not between.beyond_deg], between, reader)


@sentence.register
def _matters(found: Matters, reader: Reader) -> str:
    feels = "" if found.way is None else FEELS[found.kind != "rear"][found.way]
    if found.kind in WITHIN:
        return filled(WITHIN[found.kind], found, reader, feels=feels)
    toes = "" if found.way is None else f" with toe-{found.way} in bump"
    where = f"At {found.slope_in_per_in:.3f} in per in"
    if found.rate_in_per_in is not None:
        where += (
            f" at ride height, but up to {found.rate_in_per_in:.3f} on the way to an end of the "
            "travel,"
        )
    settled = "; under 5 minutes felt settled to kit-car builders" if found.settled else ""
    return f"Does it matter? {where}{toes} it is {BANDS[found.kind]}{settled}.{feels}{SOURCE}"


@sentence.register
def _held_against_band(held: HeldAgainstBand, reader: Reader) -> str:
    curve = "The curve" if held.side is None else f"The {held.side} wheel's curve"
    return f"{curve} is {sentence(held.verdict, reader)}."


WAYS = {
    "behind": "toward toe-in in bump",
    "ahead": "toward toe-out in bump",
    None: "toward toe-in in bump with the {arm}s behind the axle, toward toe-out with them ahead",
}
PER_MM = {"mm": 25.0, "in": MM_PER_INCH}


@sentence.register
def _shim_worth(found: ShimWorth, reader: Reader) -> str:
    travel = PER_MM[found.units]
    minutes = found.slope_deg_per_10mm * travel / 10.0 * 60.0
    slope = reader.slope_in_words(found.slope_deg_per_10mm, found.slope_in_per_in)
    way = WAYS[found.arms].format(arm=reader.words.arm)
    return (
        f"{reader.fitted(found.height_mm)} of outer drop or {reader.words.inner} raise is worth "
        f"{minutes:.1f} minutes per {short_length(travel, found.units)} of travel, that is "
        f"{slope}, {way} (first order, front view)."
    )
