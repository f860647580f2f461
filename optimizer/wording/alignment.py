"""What a wanted alignment moves, and what that gives."""

from collections.abc import Sequence
from typing import Protocol

from optimizer.models.alignment import AlignmentAnswer, AlignmentMove, Slide, ToeEffect
from optimizer.units import Side, Units, short_length
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

# Common practice, no source.
ROOM = (
    "Afterwards look for room between tire, spring, strut and body over the whole travel and lock, "
    "tighten what was moved as its maker says, and set both sides alike."
)
FOLLOWS = "All that follows is of the car so aligned."
FOLLOWS_BUT = f"{FOLLOWS[:-1]}, but for left against right, which is of the car as measured."
NOTHING_MM = 0.05  # a move that no one can make


class Aligned(Protocol):
    """What is said of a wheel that may have been aligned."""

    @property
    def side(self) -> Side:
        """Which one it is."""

    @property
    def alignment(self) -> AlignmentAnswer | None:
        """What was moved, None where nothing is asked."""


@sentence.register
def _move(move: AlignmentMove, reader: Reader) -> str:
    """Without capital and full stop."""
    return what_to_move(move, reader.subject.units)


def what_to_move(move: AlignmentMove, units: Units) -> str:
    """Say what must be moved, and by how much, as a technician would."""
    if move.turn_deg is not None:
        way, turn = (
            "outboard" if move.turn_deg > 0.0 else "inboard",
            f"{abs(move.turn_deg):.2f} deg",
        )
        return f"turn the upright {turn} against the strut at its bolts, top {way}"
    ways, arm = [_ways(slide, units) for slide in move.slides], move.kind.replace("-", " ")
    if move.kind == "strut-top":
        return f"slide the strut top {ways[0]}"
    if move.slides[0] == move.slides[1]:
        return f"shim both inner pivots of the {arm} {ways[0]}"
    return f"shim the {arm}'s front inner pivot {ways[0]} and its rear one {ways[1]}"


def _ways(slide: Slide, units: Units) -> str:
    found = [
        f"{short_length(abs(length), units)} {more if length > 0.0 else less}"
        for length, more, less in (
            (slide.outboard_mm, "outboard", "inboard"),
            (slide.forward_mm, "forward", "rearward"),
        )
        if abs(length) >= NOTHING_MM
    ]
    return " and ".join(found) or "nowhere"


def alignment_in_words(wheels: Sequence[Aligned], reader: Reader) -> list[str]:
    """Say of each wheel what must be moved and what that gives, and what to look at afterwards.

    Nothing where no wheel is aligned.
    """
    lines = [
        f"{reader.of_wheel(wheel.side)}{text}"
        for wheel in wheels
        if wheel.alignment is not None
        for text in _of_a_wheel(wheel.alignment, reader)
    ]
    return [*lines, reader.spelled(ROOM)] if lines else []


def _of_a_wheel(answer: AlignmentAnswer, reader: Reader) -> list[str]:
    camber, caster = (
        f"from {reader.angle(before)} to {reader.angle(after)} deg"
        for before, after in (
            (answer.camber_before_deg, answer.camber_deg),
            (answer.caster_before_deg, answer.caster_deg),
        )
    )
    what = sentence(answer.what_to_move, reader)
    of_caster = f", caster {caster}" if reader.words.steers else ""
    beside = _fitted_beside(answer, reader)
    what = f"with {beside}, {what}" if beside else what
    moved = (
        f"{what[0].upper()}{what[1:]}: at ride height, toe reset, camber goes {camber}{of_caster}."
    )
    if answer.toe_curve is None:
        return [moved]
    return [moved, _effect(answer.toe_curve, beside, reader)]


def _fitted_beside(answer: AlignmentAnswer, reader: Reader) -> str:
    """Name what is fitted before and after that the car doesn't have now."""
    return " and ".join(
        text.format(by=reader.fitted(length))
        for text, length in (
            ("the lower ball joint {by} down", answer.ball_joint_drop_mm),
            ("a knuckle plate of {by}", answer.knuckle_plate_mm),
            ("a crossmember spacer of {by}", answer.crossmember_spacer_mm),
        )
        if length is not None
    )


def _effect(toe: ToeEffect, beside: str, reader: Reader) -> str:
    peak = reader.toe(toe.peak_toe_change_before_deg, signed=False)
    slope = reader.slope(toe.toe_slope_before_deg_per_10mm)
    given = f"with {beside} before and after but no stack" if beside else "no stack fitted"
    return (
        f"That alone, {given}, takes the peak toe change from {peak} to "
        f"{reader.toe_with_unit(toe.peak_toe_change_deg)} and the slope from {slope} to "
        f"{reader.slope(toe.toe_slope_deg_per_10mm)} {reader.short_toe_unit} per {reader.per}."
    )
