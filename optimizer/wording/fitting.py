"""What is fitted, as a technician would order it, and the toe reset that it takes."""

from collections.abc import Callable, Sequence
from typing import Literal, NamedTuple, TypeVar

from optimizer.models.setting import Fitted, NeededSetting
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import Side
from optimizer.wording.outer_pivot import outer_moved
from optimizer.wording.reader import Reader

Wheel = TypeVar("Wheel", bound=Fitted)
SHARED = set(Fitted.model_fields) - {"side", "outer_drop_mm", "stack_mm", "ball_joint_drop_mm"}


def what_to_fit(fitted: Fitted, reader: Reader, *, as_is: bool = False) -> str:
    """Name a setting as a technician would order it."""
    if as_is:
        return "leave it as it is"
    parts = [
        MOVES[one.along][one.by_mm > 0.0][0].format(part=one.part, by=reader.fitted(abs(one.by_mm)))
        for one in moved_parts(fitted, reader.words)
    ]
    if fitted.outer_drop_mm:
        by = stack_in_words(fitted, reader)
        parts.insert(0, outer_moved(fitted.outer_drop_mm, by, reader))
    return ", ".join(parts) or "standard seat"


def apart_from_shared(wheels: Sequence[Wheel], reader: Reader) -> tuple[list[Wheel], list[str]]:
    """Part what is fitted to each of two wheels from what they share: the rack, the linkage."""
    each = [moved_parts(one, reader.words) for one in wheels]
    shared = (
        len(wheels) > 1 and reader.words.steers and each[0] and each.count(each[0]) == len(each)
    )
    if not shared:
        return list(wheels), []
    own = [one.model_copy(update=dict.fromkeys(SHARED, 0.0)) for one in wheels]
    return own, [what_to_fit(wheels[0].model_copy(update={"outer_drop_mm": 0.0}), reader)]


def what_to_build(
    fitted: Fitted, reader: Reader, *, as_is: bool = False, other_ball_joint: bool = False
) -> str:
    """Name a setting with all that belongs to it, the ball joint too where it is not the car's."""
    text = what_to_fit(fitted, reader, as_is=as_is)
    return f"{text}, {ball_joint_down(fitted, reader)}" if other_ball_joint else text


def ball_joint_down(fitted: Fitted, reader: Reader) -> str:
    """Name the lower ball joint and how far down it goes."""
    return f"lower ball joint {reader.fitted(fitted.ball_joint_drop_mm)} down"


class Move(NamedTuple):
    """A part that is moved beside the outer pivot: up or forward, or the other way below 0. [mm]"""

    part: str
    by_mm: float
    along: Literal["up", "forward", "fitted", "long"] = "up"


MOVES = {
    "up": (("lower {part} {by}", "lowered {by}"), ("raise {part} {by}", "raised {by}")),
    "forward": (
        ("move {part} {by} rearward", "moved {by} rearward"),
        ("move {part} {by} forward", "moved {by} forward"),
    ),
    "long": (
        ("shorten {part} by {by}", "shorter by {by}"),
        ("lengthen {part} by {by}", "longer by {by}"),
    ),
    "fitted": (("take off {part} {by}", "taken off"), ("fit {part} {by}", "of {by} fitted")),
}


def moved_parts(fitted: Fitted | NeededSetting, words: Vocabulary) -> list[Move]:
    """List what is moved beside the outer pivot."""
    moves = [
        Move(words.inner, fitted.rack_raise_mm),
        Move(words.inner, fitted.rack_fore_aft_mm, "forward"),
        *(Move(name, height) for name, height in bracket_heights(fitted).items()),
        Move("knuckle plate", fitted.knuckle_plate_mm, "fitted"),
        Move("crossmember spacer", fitted.crossmember_spacer_mm, "fitted"),
        Move(f"left end of the {words.inner} against the right", fitted.rack_tilt_mm),
        Move("lift block", fitted.lift_block_mm, "fitted"),
        Move("shackle", fitted.shackle_longer_mm, "long"),
    ]
    return [one for one in moves if one.by_mm]


def bracket_heights(fitted: Fitted | NeededSetting) -> dict[str, float]:
    """How far up the lateral link's brackets go, by their names. [mm]."""
    return {
        "lateral link's frame bracket": fitted.frame_bracket_raise_mm,
        "lateral link's axle bracket": fitted.axle_bracket_raise_mm,
    }


def moved(move: Move, length: Callable[[float], str]) -> str:
    """Say which way, and how far, a part is moved."""
    return MOVES[move.along][move.by_mm > 0.0][1].format(by=length(abs(move.by_mm)))


def stack_in_words(fitted: Fitted, reader: Reader) -> str:
    """Write a stack's height, and its pieces where there are several."""
    height, pieces = abs(fitted.outer_drop_mm), fitted.stack_mm
    if len(pieces) < 2:
        return reader.fitted(height)
    return f"{reader.fitted(height)} ({reader.pieces(pieces)})"


def toe_reset_in_words(longer_mm: Sequence[tuple[Side, float]], reader: Reader) -> str:
    """Say what the toe reset does to the tie rod of a wheel, or to those of several."""
    words, several = reader.words, len(longer_mm) > 1
    changes = [
        f"{reader.length_with_unit(abs(longer))} {'longer' if longer > 0.0 else 'shorter'}"
        f"{f' {side}' if several else ''}"
        for side, longer in longer_mm
    ]
    rods = f"{words.short_rod}s come" if several else f"{words.short_rod} comes"
    return (
        f"{words.reset} at ride height: the {rods} out about {' and '.join(changes)} than measured."
    )
