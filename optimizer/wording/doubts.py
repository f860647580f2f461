"""What merely looks wrong in a case, in words that follow on its key."""

from optimizer.models.check import (
    Arms,
    BandTooShort,
    Contradicted,
    LargeAngle,
    NotStated,
    OddLength,
    OddPlace,
    OddSize,
    OddWay,
    OpenKind,
    PlaceKind,
    SizeKind,
    UnusualAngle,
    UnusualArm,
    WayKind,
)
from optimizer.units import MM_PER_INCH, length_text, short_length
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

PLACES: dict[PlaceKind, str] = {
    "swapped-arm": "lies behind {other} ({axis} = {at} and {there}); x is forward: are the two "
    "swapped?",
    "swapped-link": "lies outboard of {other} ({axis} = {at} and {there}); are the two swapped?",
    "swapped-rod": "lies outboard of {other} ({axis} = {at} and {there}); no cure is right with "
    "this: are the two swapped?",
    "swapped-strut": "lies above {other} ({axis} = {at} and {there}); strut_top is the top mount, "
    "strut_axis a point of the rod's line far below it: are the two swapped?",
    "swapped-axle-link": "lies nearer to the axle than {other} ({axis} = {at} and {there}); inner "
    "is the end at the frame: are the two swapped?",
    "high-joint": "lies above the wheel center ({axis} = {at} and {there}); is z up?",
    "leaning-shackle": "lies nearer to the axle than {other} ({axis} = {at} and {there}): a "
    "shackle that leans toward the axle leans farther the more the spring arches, and can turn "
    "over in droop",
    "one-sided-link": "lies on the same side of the car as {other} ({axis} = {at} and {there}); a "
    "lateral link reaches across: is one of the two another link's end?",
    "swept-rod": "lies far ahead of {other} or behind it ({axis} = {at} and {there}); is the "
    "sign of one of the two wrong?",
    "skewed-arm": "and {other} make a pivot axis far askew to the car ({axis} = {at} and {there}); "
    "is a number of one of the two mistyped?",
    "steep-link": "and {other} make a link far from level ({axis} = {at} and {there}); is one of "
    "the two another link's?",
    "narrow": "lies inboard of {other} ({axis} = {at} and {there}); the wheel center is in the "
    "middle plane of the tire",
}
SIZES: dict[SizeKind, str] = {
    "off-joint": "is {found} ahead of or behind lower_ball_joint; were x of both measured from one "
    "place?",
    "off-seat": "is {found} ahead of or behind wheel_center; were x of both measured from one "
    "place?",
    "on-ground": "lies {found} above the ground, by wheel_center and tire_radius: is a digit "
    "lost, or a number in another unit?",
    "rod": "makes a {words.rod} of {found} beside a lower arm of {beside}; they are usually alike",
    "radius": "is {found} up, but tire_radius is {beside}; only heights against each other matter, "
    "but was z measured from the ground?",
    "diameter": "is {found}, about twice what wheel_center lies up ({beside}): is it the diameter?",
    "track": "says {found}, but points.wheel_center lies {beside} from y = 0; is it that of this "
    "axle, and y = 0 the car's center line?",
    "rack-too-far": "{exact} is more than the linkage can follow at ride height",
    "beyond-tire": "is {exact} across, no less than the tire, {limit}: is a digit wrong, or "
    "wheel.tire_radius?",
    "beyond-rim": "is {exact} across and does not go into the rim, {limit} inside: is a digit "
    "wrong?",
    "too-thick": "is {exact}, more than the greatest stack ({limit}), so it is never used: are its "
    "unit and stack.max right?",
    "reach": "goes to {exact}, which no adjuster is likely to: are the units right?",
    "overlaps": "{name} overlaps by {found} as the car was measured; check its sizes and, of a "
    "plane, which side is free",
    "crossing": "makes a link whose center line passes the {name}'s by {found} alone, less than "
    "two rods need: are two ends changed over?",
    "unlike-links": "lies {found} from the mirror image of {name}, though the two links begin as "
    "mirror images at the frame: is one of the two another link's end?",
    "toe-across": "is {exact}, beside a tire {limit} across; toe is taken across the tire, the "
    "rim's flange or the gauge's plate: is this a radius, or in another unit?",
    "nominal": "has an inside diameter of {exact}, no less than its nominal {nominal:g} in: was it "
    "measured in the barrel?",
    "raised-pitman": "raises the pitman ball by {exact}, and nothing listed lowers it; on a lifted "
    "truck a drop pitman arm sets it lower, which is below 0: is the sign right?",
    "whole-inches": "has an inside diameter of exactly {inches:.0f} in: is that measured in the "
    "barrel, or nominal?",
}
CONTRADICTED = (
    "says that these points and the readings that corrected them contradict each other: settle "
    "which is wrong before anything is built"
)
ANGLES = {"caster": "caster", "kingpin": "kingpin inclination"}
WAYS: dict[WayKind, str] = {
    "lateral-link": "takes link {number} for the lateral link, but it runs more along the car than "
    "across it; which link holds the axle sideways?",
    "drag-link": "makes a drag link that runs more along the car than across it: set "
    "steering.rack_axis to the pitman ball's way",
    "rack-axis": "is far from lying across the car; y is to the left",
    "stud-axis": "points up: a thicker stack would raise the pivot; is that how it is fitted?",
    "other-arms": 'says "{stated}", but {point} lies {place} the {words.axis}; every cure turns '
    "round with this: check the sign of x",
}
OPEN: dict[OpenKind, str] = {
    "arms": "is not stated; the points put the {words.arm}s {place} the axle: state "
    'arms = "{arms}" if that is so',
    "rear-aim": "is not stated, nor is a band, so no toe change at all is taken as wanted; at the "
    "rear a maker may mean some: is there a figure or a band of the maker's?",
    "tilt-limit": "states no tilt limit: binding of the outer joint can't be judged",
    "obstacles": "lists none: clearance can't be judged",
    "sizes": "states no rod_diameter or no housing_diameter: the gaps count from the center lines",
    "inner-bolt-axis": "states a tilt limit and no bolt_axis: its tilt counts from "
    "{words.inner_line}; where a bolt or stud goes through the ball, state bolt_axis along it",
    "rack-travel": "is not stated: limits are judged straight ahead only",
    "most-move": "is not stated: whether the part goes as far as the wanted alignment asks can't "
    "be judged",
}
ARMS_AT: dict[Arms | None, str] = {"ahead": "ahead of", "behind": "behind", None: ""}
OTHER_ARMS: dict[Arms | None, str] = {"ahead": "behind", "behind": "ahead", None: ""}


LARGE_CHANGE = (
    "make toe change by up to {odd.found_deg:.1f} deg over the used travel, more than a car is "
    "likely to: is a height mistyped, of an end of the {words.rod}, of an arm or of a link?"
)
LENGTH = (
    "says {said}, but the points make it {found}: {sigmas:.1f} standard deviations of both; was it "
    "measured from joint center to joint center, or is a point wrong?"
)


@sentence.register
def _length(odd: OddLength, reader: Reader) -> str:
    units = reader.subject.units
    said, found = (short_length(x, units) for x in (odd.said_mm, odd.by_points_mm))
    return LENGTH.format(said=said, found=found, sigmas=odd.sigmas)


@sentence.register
def _place(odd: OddPlace, reader: Reader) -> str:
    units = reader.subject.units
    at, there = short_length(odd.at_mm, units), short_length(odd.other_at_mm, units)
    return PLACES[odd.kind].format(other=odd.other, axis=odd.axis, at=at, there=there)


@sentence.register
def _size(odd: OddSize, reader: Reader) -> str:
    units, beside = reader.subject.units, odd.beside_mm or 0.0
    return SIZES[odd.kind].format(
        words=reader.words,
        name=odd.name,
        found=short_length(odd.found_mm, units),
        exact=length_text(odd.found_mm, units),
        beside=short_length(beside, units),
        limit=length_text(beside, units),
        nominal=beside / MM_PER_INCH,
        inches=odd.found_mm / MM_PER_INCH,
    )


@sentence.register
def _angle(odd: UnusualAngle, reader: Reader) -> str:
    usual = f"{odd.low_deg:g} to {odd.high_deg:g} is usual"
    return f"give a {ANGLES[odd.kind]} of {odd.found_deg:.1f} deg; {usual}"


@sentence.register
def _large(odd: LargeAngle, reader: Reader) -> str:
    if odd.kind == "toe-change":
        return LARGE_CHANGE.format(odd=odd, words=reader.words)
    if odd.kind == "camber":
        return f"is {odd.found_deg:g} degrees, more than any car is set to; is a point lost?"
    if odd.kind == "toe":
        return f"is {odd.found_deg:g} degrees of one wheel; are these minutes, or is a point lost?"
    return (
        f"lets toe change by {odd.found_deg:g} degrees, which no car keeps quiet; is a point lost?"
    )


@sentence.register
def _arm(odd: UnusualArm, reader: Reader) -> str:
    units = reader.subject.units
    found, low, high = (short_length(x, units) for x in (odd.found_mm, odd.low_mm, odd.high_mm))
    return f"makes a {reader.words.arm} of {found}; {low} to {high} is usual"


@sentence.register
def _way(odd: OddWay, reader: Reader) -> str:
    return WAYS[odd.kind].format(
        words=reader.words,
        number=odd.number,
        point=odd.point,
        place=ARMS_AT[odd.arms],
        stated=OTHER_ARMS[odd.arms],
    )


@sentence.register
def _contradicted(_: Contradicted, __: Reader) -> str:
    return CONTRADICTED


@sentence.register
def _open(odd: NotStated, reader: Reader) -> str:
    return OPEN[odd.kind].format(words=reader.words, place=ARMS_AT[odd.arms], arms=odd.arms)


@sentence.register
def _band(odd: BandTooShort, reader: Reader) -> str:
    covered, to, used, used_to = (
        length_text(x, reader.subject.units)
        for x in (odd.from_mm, odd.to_mm, odd.used_from_mm, odd.used_to_mm)
    )
    return (
        f"covers travel {covered} to {to}, the car uses {used} to {used_to}; beyond its ends "
        "nothing is held against it, and peaks count from its middle as it goes on there, straight"
    )
