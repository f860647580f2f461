"""What is fitted, as a technician would order it, and the toe reset that it takes."""

from collections.abc import Callable, Sequence
from typing import Literal, NamedTuple, TypeVar

from optimizer.models.setting import Fitted, LinkageFitted, NeededSetting
from optimizer.models.subject import StudWay
from optimizer.units import Side
from optimizer.wording.outer_pivot import outer_moved
from optimizer.wording.reader import Reader

Wheel = TypeVar("Wheel", bound=Fitted)
BRACKETS = {
    "frame_bracket_raise": "lateral link's frame bracket",
    "axle_bracket_raise": "lateral link's axle bracket",
}


def what_to_fit(fitted: Fitted, reader: Reader, *, as_is: bool = False) -> str:
    """Name a setting as a technician would order it."""
    if as_is:
        return "leave it as it is"
    parts = [
        MOVES[one.along][one.by_mm > 0.0][0].format(part=one.part, by=reader.fitted(abs(one.by_mm)))
        for one in moved_parts(fitted, reader)
    ]
    if fitted.outer_drop_mm:
        by = stack_in_words(fitted, reader)
        parts.insert(0, outer_moved(fitted.outer_drop_mm, by, reader))
    return ", ".join(parts) or "standard seat"


def of_kit(kit: str | None, where: str = "", *, idle: bool) -> tuple[str, str]:
    """Name the kit before what is fitted of it; or, after that, that nothing of it is."""
    if kit is None:
        return "", ""
    return ("", f" (nothing of {kit} is needed)") if idle else (f"{kit}{where}: ", "")


def each_fitted(
    wheels: Sequence[Wheel], reader: Reader, said: Callable[[Wheel, Reader], str]
) -> list[str]:
    """Say what is fitted to each wheel, and once what two share: the rack, the linkage."""
    joints = [reader.linkage_now(one).ball_joint_drop_mm for one in wheels]
    stacked = [
        one.model_copy(update={"outer_drop_mm": 0.0, "ball_joint_drop_mm": joint})
        for one, joint in zip(wheels, joints, strict=True)
    ]
    each = [moved_parts(one, reader) for one in stacked]
    shared = (
        len(wheels) > 1 and reader.words.steers and each[0] and each.count(each[0]) == len(each)
    )
    own = [one.model_copy(update=_as_now(one, reader)) for one in wheels] if shared else wheels
    told = [f"{reader.on_side(one.side)}{said(one, reader)}" for one in own]
    return [*told, what_to_fit(stacked[0], reader)] if shared else told


def _as_now(fitted: Fitted, reader: Reader) -> dict[str, float]:
    """Rack and linkage as they are now, but for the ball joint. [mm]."""
    now = reader.linkage_now(fitted).model_dump(exclude={"ball_joint_drop_mm"})
    return {"rack_raise_mm": 0.0, "rack_fore_aft_mm": 0.0, **now}


class Move(NamedTuple):
    """A part that is moved beside the outer pivot: up or forward, or the other way below 0. [mm]"""

    part: str
    by_mm: float
    along: "Along" = "up"


Along = Literal[
    "up",
    "forward",
    "long",
    "thick",
    "fitted",
    "off",
    "changed",
    "joint-down",
    "joint-up",
    "joint-level",
    "standard",
]
MOVES: dict[Along, tuple[tuple[str, str], tuple[str, str]]] = {
    "up": (("lower {part} {by}", "lowered {by}"), ("raise {part} {by}", "raised {by}")),
    "forward": (
        ("move {part} {by} rearward", "moved {by} rearward"),
        ("move {part} {by} forward", "moved {by} forward"),
    ),
    "long": (
        ("shorten {part} by {by}", "shorter by {by}"),
        ("lengthen {part} by {by}", "longer by {by}"),
    ),
    "fitted": 2 * (("fit {part} {by}", "of {by} fitted"),),
    "off": 2 * (("take off {part} {by}", "taken off"),),
    "changed": 2 * (("change {part} to {by}", "changed to {by}"),),
    "thick": (
        ("make {part} {by} thinner", "{by} thinner"),
        ("make {part} {by} thicker", "{by} thicker"),
    ),
    "joint-down": (("{part} {by} up", "{by} up"), ("{part} {by} down", "{by} down")),
    "joint-up": (("{part} {by} down", "{by} down"), ("{part} {by} up", "{by} up")),
    "joint-level": (
        ("{part} {by} back along its stud", "{by} back along its stud"),
        ("{part} {by} out along its stud", "{by} out along its stud"),
    ),
    "standard": 2 * (("{part} back to standard", "back to standard"),),
}


JOINTS: dict[StudWay, Along] = {"down": "joint-down", "up": "joint-up", "level": "joint-level"}


def moved_parts(fitted: Fitted | NeededSetting, reader: Reader) -> list[Move]:
    """List what is changed beside the outer pivot, from what the car has now."""
    inner, now = reader.words.inner, reader.linkage_now(fitted)
    brackets = bracket_heights(now)
    moves = [
        Move(inner, fitted.rack_raise_mm),
        Move(inner, fitted.rack_fore_aft_mm, "forward"),
        *(Move(name, up - brackets[name]) for name, up in bracket_heights(fitted).items()),
        _spaced("knuckle plate", now.knuckle_plate_mm, fitted.knuckle_plate_mm),
        _spaced("crossmember spacer", now.crossmember_spacer_mm, fitted.crossmember_spacer_mm),
        Move(f"left end of the {inner} against the right", fitted.rack_tilt_mm - now.rack_tilt_mm),
        _spaced("lift block", now.lift_block_mm, fitted.lift_block_mm),
        Move("shackle", fitted.shackle_longer_mm - now.shackle_longer_mm, "long"),
        _joint(now.ball_joint_drop_mm, fitted.ball_joint_drop_mm, reader.subject.joint),
    ]
    return [one for one in moves if one.by_mm]


def _spaced(part: str, now_mm: float, then_mm: float) -> Move:
    """A part that is fitted, taken off or changed for one of another height; 0 where it stays.

    Below 0 it counts from one that was there when the points were measured.
    """
    if now_mm == then_mm or min(now_mm, then_mm) < 0.0:
        return Move(part, then_mm - now_mm, "thick")
    if not then_mm:
        return Move(part, now_mm, "off")
    return Move(part, then_mm, "changed" if now_mm else "fitted")


def _joint(now_mm: float, then_mm: float, way: StudWay) -> Move:
    """The lower ball joint as far along its stud as it goes; 0 where it stays."""
    if now_mm == then_mm:
        return Move("lower ball joint", 0.0)
    if not then_mm:
        return Move("lower ball joint", now_mm, "standard")
    return Move("lower ball joint", then_mm, JOINTS[way])


def bracket_heights(fitted: LinkageFitted) -> dict[str, float]:
    """How far up the lateral link's brackets go, by their names. [mm]."""
    return {name: getattr(fitted, f"{part}_mm") for part, name in BRACKETS.items()}


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
    changed, same = list[str](), list[str]()
    for side, longer in longer_mm:
        of_side, by = f" {side}" if several else "", reader.length_with_unit(abs(longer))
        if by == reader.length_with_unit(0.0):
            same.append(of_side)
        else:
            changed.append(f"{by} {'longer' if longer > 0.0 else 'shorter'}{of_side}")
    told = [f"about {' and '.join(changed)} than measured"] if changed else []
    told += [f"as long as measured{''.join(same) if changed else ''}"] if same else []
    rods = f"{words.short_rod}s come" if several else f"{words.short_rod} comes"
    return f"{words.reset} at ride height: the {rods} out {', '.join(told)}."
