"""What is said beside the curves of a car: rod lengths, wanted bands, settling, missing poses."""

from optimizer.models.curve import CurveOf, CurveResult, NoPose
from optimizer.models.diagnosis import Settling, StaticDrift
from optimizer.models.setting import BandVerdict
from optimizer.models.subject import StudWay
from optimizer.units import length_text
from optimizer.wording.fitting import Move, moved
from optimizer.wording.outer_pivot import outer_title
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import ENDS

LINKAGE = {
    "ball_joint_drop_mm": "lower ball joint {joint}",
    "frame_bracket_raise_mm": "lateral link's frame bracket raise",
    "axle_bracket_raise_mm": "lateral link's axle bracket raise",
    "knuckle_plate_mm": "knuckle plate",
    "crossmember_spacer_mm": "crossmember spacer",
    "rack_tilt_mm": "left end of the {words.inner} higher by",
    "lift_block_mm": "lift block",
    "shackle_longer_mm": "shackle longer by",
}
JOINTS: dict[StudWay, str] = {"down": "down", "up": "up", "level": "out along its stud"}
AS_ASKED = "as asked"
LAID_OVER = "Laid over each other: toe change from ride height"


@sentence.register
def _setting(of: CurveOf, reader: Reader) -> str:
    words, way = reader.words, "lower" if of.lowered_by_mm >= 0.0 else "higher"
    drop = f"outer {outer_title(reader)} {reader.fitted(of.outer_drop_mm)}"
    if of.right_outer_drop_mm is not None:
        drop += f" left, {reader.fitted(of.right_outer_drop_mm)} right"
    parts = [
        f"{reader.fitted(abs(of.lowered_by_mm))} {way} than measured",
        drop,
        f"{words.inner} raise {reader.fitted(of.rack_raise_mm)}",
    ]
    if of.rack_fore_aft_mm:
        parts += [f"{words.inner} {moved(Move('', of.rack_fore_aft_mm, 'forward'), reader.fitted)}"]
    told, now = (one.model_dump(include=set(LINKAGE)) for one in (of, reader.linkage_now(of)))
    parts += [
        f"{part.format(words=words, joint=JOINTS[reader.subject.joint])} {reader.fitted(told[key])}"
        for key, part in LINKAGE.items()
        if told[key] or now[key]
    ]
    if of.rack_travel_mm:
        way = reader.way_of_rack(of.rack_travel_mm)
        parts.append(f"{words.inner} {reader.fitted(abs(of.rack_travel_mm))} {way}")
    parts += ["rod as long as measured"] if of.keep_rod_length else []
    parts += ["the other wheel the other way"] if of.opposite else []
    return f"For {', '.join(parts)}."


@sentence.register
def _no_pose(found: NoPose, reader: Reader) -> str:
    heights = ", ".join(length_text(height, reader.subject.units) for height in found.travel_mm)
    what = f"No pose at travel {heights}: {ENDS[found.ends].format(words=reader.words)}"
    if found.used_mm is None:
        return f"{what}."
    bump, droop = map(reader.fitted, found.used_mm)
    return f"{what}. The car uses {bump} of bump and {droop} of droop: it need not go there."


def lengths_in_words(result: CurveResult, reader: Reader) -> str:
    """Say what the toe reset makes of each rod, and how toe is told."""
    rod, units = reader.words.rod, reader.subject.units
    changes = [
        (wheel.side, f"{rod} {reader.length(wheel.tie_rod_length_change_mm, signed=True)} {units}")
        for wheel in result.wheels
        if wheel.tie_rod_length_change_mm is not None
    ]
    if result.together is not None:
        lengths = ", ".join(f"{side} {change}" for side, change in changes) or "none"
        return (
            f"Lengths after {reader.words.resetting}: {lengths}. Toe: {reader.toe_unit}, toe-in "
            "positive; total is of both wheels."
        )
    length = "".join(f"{change[0].upper()}{change[1:]}. " for _, change in changes)
    return f"{length}Toe of this wheel alone, {reader.toe_unit}, toe-in positive."


def notes_in_words(result: CurveResult, reader: Reader) -> list[str]:
    """Say where a curve ends and whether it keeps the wanted band, each wheel named if need be."""
    return [
        f"{reader.of_wheel(wheel.side)}{text}"
        for wheel in result.wheels
        for text in (
            *(sentence(note, reader) for note in wheel.notes),
            *(sentence(told, reader.of_one_wheel(told.side)) for told in (wheel.settling,) if told),
            *(sentence(told, reader) for told in wheel.drift),
            *(
                f"The toe curve is {sentence(verdict, reader)}."
                for verdict in (wheel.band,)
                if verdict is not None
            ),
        )
    ]


@sentence.register
def _verdict(found: BandVerdict, reader: Reader) -> str:
    """Without its subject, its capital and its full stop."""
    if not found.judged:
        return f"not covered by the wanted band at any of its {found.what}"
    if found.travel_mm is None or found.beyond_deg is None:
        return f"inside the wanted band at all {found.judged} {found.what} that it covers"
    way = "toe-in" if found.beyond_deg > 0.0 else "toe-out"
    at = length_text(found.travel_mm, reader.subject.units)
    return (
        f"outside the wanted band at {found.outside} of {found.judged} {found.what}, most at "
        f"travel {at}: {abs(found.beyond_deg):.3f} deg more {way} than it allows"
    )


DRIFT = (
    "Static toe drifts with height: {told}, toe-in positive. Set toe with the car loaded as it is "
    "driven, and again once its springs have settled."
)
DRIFT_ON_BEAM = (
    "Straight ahead drifts with height: this wheel is steered {told}, toe-in positive, and the "
    "other one with it; toe between the two stays. Center the steering wheel with the car loaded "
    "as it is driven, and again once its springs have settled."
)
SET_IT = {False: "Set this wheel's toe to", True: "Set the drag link so that this wheel's toe is"}


@sentence.register
def _settling(found: Settling, reader: Reader) -> str:
    wheel, by = reader.of_wheel(found.side), reader.length_with_unit(found.settles_by_mm)
    if found.set_deg is None:
        return f"{wheel}When the car has come down another {by}, the wheel can't follow."
    now, then = (reader.toe_with_unit(x, signed=True) for x in (found.set_deg, found.toe_deg))
    return (
        f"{wheel}{SET_IT[reader.subject.on_beam]} {now} now, toe-in positive, so that it is {then} "
        f"when the car has come down another {by}."
    )


@sentence.register
def _drift(found: StaticDrift, reader: Reader) -> str:
    ways = ((found.lower_deg, "lower"), (found.higher_deg, "higher"))
    told = [
        f"by {reader.toe_with_unit(change, signed=True)} where the car stands {by} {way}"
        for by in (reader.length_with_unit(found.by_mm),)
        for change, way in ways
        if change is not None
    ]
    text = DRIFT_ON_BEAM if reader.subject.on_beam else DRIFT
    return text.format(told=" and ".join(told))
