"""What was read beside the toe of a sweep, in words, and what in it looks like a slip."""

from optimizer.models.read_beside import (
    BesideSlip,
    BesideSlipKind,
    MovedBeside,
    MovedSlip,
    ReadBeside,
    Unreached,
)
from optimizer.units import MM_PER, MM_PER_INCH
from optimizer.wording.reader import Reader
from optimizer.wording.refused_readings import BESIDE
from optimizer.wording.sentences import sentence
from optimizer.wording.templates import Length, filled

WHAT = {
    "rod_turned": "toe changed",
    "camber": "camber changed over its rows",
    "steered": "the wheel turned over its rows",
    "turn_toe_out": "the inner wheel of the turn turned farther",
    "caster_sweep": "camber changed from one lock to the other",
}
TOLD = (
    "{key}{longer}: {what} by {seen_deg:+.3f} deg; the points as measured foretell "
    "{foretold_deg:+.3f} deg, give or take {give_or_take_deg:.3f}, the corrected ones "
    "{corrected_deg:+.3f} deg."
)
MOVED = (
    "{key}: over its rows the wheel moved outboard by {seen}; the points as measured foretell "
    "{foretold}, give or take {give_or_take}, the corrected ones {corrected}."
)
CASTER = " That is {caster_deg:.2f} deg of caster, by the formula of caster gauges."
SLIP = (
    "{key} does not fit the points, by {sigmas:.1f} standard deviations of tape and gauge over all "
    "its rows: it spans {seen_deg:+.3f} deg where they foretell {foretold_deg:+.3f} deg; {cure} "
    "Until that is settled it is left out."
)
MOVED_SLIP = (
    "{key} does not fit the points, by {sigmas:.1f} standard deviations of tape and gauge over all "
    "its rows: from end to end the wheel moves outboard by {seen} where they foretell {foretold}; "
    "{cure} Until that is settled it is left out."
)
UNREACHED = '"{sweep}": the points of the case can\'t reach {typed}, so {left}; {look}'
EXCHANGED = "with bump and droop exchanged it would: is the sign of travel right?"
CURES: dict[BesideSlipKind, str] = {
    "other-way": "turned the other way it would: which way makes the {words.rod} longer (turns or "
    "longer_by above 0)? Or were before and after exchanged, or the places of the gauge?",
    "doubled": "twice the length would: do both ends of the {words.rod} turn (both_ends = true), "
    "or was the toe of both wheels typed as that of one?",
    "halved": "half of the length would: does one end of the {words.rod} turn alone "
    "(both_ends = false), or was one wheel's toe typed for half of both?",
    "pitch": "a pitch of {pitch} would, {typed_pitch_mm} is typed: is it a coarse thread or a fine "
    "one?",
    "sign": "with plus and minus exchanged it would: are the signs as the file wants them, "
    "of what was read and of where it was read, and are no two readings exchanged?",
    "exchanged": EXCHANGED,
    "by-60": "a 60th of it would: were minutes typed as degrees?",
    "other-wheel": "as the angles of the other wheel it would: were they read at the {side} wheel?",
    "row": "without {typed} it would: is that row mistyped?",
    "odd": "no slip that is known here explains that: read it again.",
}

MOVED_CURES: dict[BesideSlipKind, str] = {
    "sign": 'with plus and minus exchanged it would: is reading_grows "outboard" or "inboard"?',
    "exchanged": EXCHANGED,
    "inches": "25.4 times the readings would: were inches typed where the file says mm?",
    "millimeters": "a 25.4th of the readings would: were millimeters typed where the file says "
    "inches?",
    "row": CURES["row"],
    "odd": CURES["odd"],
}


@sentence.register
def _told(read: ReadBeside, reader: Reader) -> str:
    longer = ""
    if read.longer_mm is not None:
        way = "longer" if read.longer_mm > 0.0 else "shorter"
        longer = f", {reader.words.rod} {Length(abs(read.longer_mm), read.units):short} {way}"
    text = TOLD if read.caster_deg is None else TOLD + CASTER
    return filled(text, read, reader, what=WHAT[read.key.split("[")[0]], longer=longer)


@sentence.register
def _moved(read: MovedBeside, reader: Reader) -> str:
    return filled(MOVED, read, reader, **_by_dial(read))


@sentence.register
def _moved_slip(slip: MovedSlip, reader: Reader) -> str:
    cure = filled(MOVED_CURES[slip.kind], slip, reader, typed=_typed(slip.key, slip.row))
    return filled(MOVED_SLIP, slip, reader, cure=cure, **_by_dial(slip))


def _by_dial(fact: MovedBeside | MovedSlip) -> dict[str, str]:
    """Lengths of a fact with their signs, as finely as a dial tells them."""
    decimals = 2 if fact.units == "mm" else 4
    return {
        name.removesuffix("_mm"): f"{mm / MM_PER[fact.units]:+.{decimals}f} {fact.units}"
        for name, mm in fact
        if name.endswith("_mm")
    }


@sentence.register
def _slip(slip: BesideSlip, reader: Reader) -> str:
    pitch = "" if slip.pitch_mm is None else _pitch(slip.pitch_mm)
    cure = filled(CURES[slip.kind], slip, reader, pitch=pitch, typed=_typed(slip.key, slip.row))
    return filled(SLIP, slip, reader, cure=cure)


@sentence.register
def _unreached(lost: Unreached, reader: Reader) -> str:
    typed = ", ".join(_typed(lost.key, row) for row in lost.rows)
    left = "that row is left out" if len(lost.rows) == 1 else "those rows are left out"
    _, look = BESIDE[lost.key]
    return filled(UNREACHED, lost, reader, typed=typed, left=left, look=look)


def _typed(key: str, row: int | None) -> str:
    """Where a row stands in its file."""
    return f"{key}.{'dial' if key == 'sideways' else 'readings'}[{row}]"


def _pitch(pitch_mm: float) -> str:
    """Write a pitch as the trade does: in mm, or as threads per inch."""
    per_inch = MM_PER_INCH / pitch_mm
    is_inch = abs(per_inch - round(per_inch)) < 1e-6
    return f"{per_inch:.0f} threads per inch" if is_inch else f"{pitch_mm:g} mm"
