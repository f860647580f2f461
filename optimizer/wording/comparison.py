"""Whether two measured wheels are alike, and what parts them."""

from optimizer.models.comparison import (
    UNEQUAL_RODS_MM,
    Apart,
    Axis,
    Cause,
    CauseKind,
    SidesCompared,
)
from optimizer.units import length_text, short_length
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

WAYS: dict[Axis, tuple[str, str]] = {
    "x": ("ahead", "behind"),
    "y": ("farther outboard", "farther inboard"),
    "z": ("higher", "lower"),
}
CARRIERS: dict[Axis, str] = {
    "x": "The {words.carrier} is askew: its {side} pivot lies {by} farther ahead",
    "y": "The {words.carrier} is off center by {half} to the {side}",
    "z": "The {words.carrier} is not level: its {side} pivot lies {by} higher",
}
CAUSES: dict[CauseKind, str] = {
    "rods": "The {words.rod}s are unequal: {left} left, {right} right (makers' manuals ask for "
    "equal ones within {least} to {most}).",
    "stacks-swapped": "The {side} outer pivot sits {by} higher: were the shims fitted on the wrong "
    "sides?",
    "outer-height": "The {side} outer pivot sits {by} higher: unequal stacks, a stud that is not "
    "fully home, or a bent {words.arm}.",
    "arms": "The {words.arm}s differ, {left} left and {right} right: the left outer pivot lies "
    "{where}; look for a bent arm or unlike uprights.",
    "point": "{point} lies {where} on the left, more than the tape explains: a bent part or a slip "
    "of the tape; measure it again first.",
    "camber": "Camber differs: {left} left, {right} right; look for unlike settings, or a bent "
    "strut, arm or upright.",
    "no-single-one": "No single point differs by more than the tape explains: look for several "
    "small differences, and sweep both wheels with a gauge.",
}


@sentence.register
def _cause(cause: Cause, reader: Reader) -> str:
    text = _what(cause, reader)
    if cause.without_deg is None:
        return text
    swapped = cause.kind == "stacks-swapped"
    change = "With the two heights changed over" if swapped else "Without that"
    return (
        f"{text} {change} the wheels would differ by {cause.without_deg:.3f} instead of "
        f"{cause.peak_deg:.3f} deg."
    )


def _what(cause: Cause, reader: Reader) -> str:
    units, first = reader.subject.units, next(iter(cause.apart), Apart(axis="x", by_mm=0.0))
    left, right = (
        f"{angle or 0.0:+.2f} deg" if length is None else short_length(length, units)
        for length, angle in ((cause.left_mm, cause.left_deg), (cause.right_mm, cause.right_deg))
    )
    least, most = (length_text(x, units) for x in UNEQUAL_RODS_MM)
    text = f"{CARRIERS[first.axis]}." if cause.kind == "carrier" else CAUSES[cause.kind]
    return text.format(
        words=reader.words,
        point=cause.point,
        side="left" if first.by_mm > 0.0 else "right",
        by=short_length(abs(first.by_mm), units),
        half=short_length(abs(0.5 * first.by_mm), units),
        where=" and ".join(_where(apart, reader) for apart in cause.apart),
        left=left,
        right=right,
        least=least,
        most=most,
    )


def _where(apart: Apart, reader: Reader) -> str:
    way = WAYS[apart.axis][int(apart.by_mm < 0.0)]
    return f"{short_length(abs(apart.by_mm), reader.subject.units)} {way}"


def comparison_in_words(found: SidesCompared | None, reader: Reader) -> list[str]:
    """Say whether the wheels are alike, and what parts them if not; nothing of one wheel."""
    if found is None:
        return []
    by = reader.toe_with_unit(found.peak_toe_difference_deg)
    tape = reader.toe_with_unit(found.tape_alone_deg)
    if found.alike:
        return [
            f"The wheels pass for mirror images: their toe changes differ by {by} at most (errors "
            f"of the tape alone could make {tape}), and no point by more than the tape explains."
        ]
    at = f"{reader.length(found.at_travel_mm, signed=True)} {reader.subject.units}"
    return [
        f"The toe changes differ by up to {by}, at travel {at}; both wheels there at the same "
        f"time steer the car by half of that. Errors of the tape alone could make {tape}.",
        "Likely causes, the likeliest first:",
        *(f"- {sentence(cause, reader)}" for cause in found.causes),
    ]
