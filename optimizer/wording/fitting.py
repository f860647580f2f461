"""What is fitted, as a technician would order it, and the toe reset that it takes."""

from collections.abc import Callable, Sequence

from optimizer.models.reach import NeededSetting
from optimizer.models.setting import Fitted
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import Side
from optimizer.wording.reader import Reader


def what_to_fit(fitted: Fitted, reader: Reader, *, as_is: bool = False) -> str:
    """Name a setting as a technician would order it."""
    if as_is:
        return "leave it as it is"
    parts = [
        f"{'raise' if raised > 0.0 else 'lower'} {name} {reader.fitted(abs(raised))}"
        for name, raised in raised_parts(fitted, reader.words)
    ]
    if fitted.outer_drop_mm:
        way = "drop" if fitted.outer_drop_mm > 0.0 else "raise"
        parts.insert(0, f"{way} outer {stack_in_words(fitted, reader)}")
    return ", ".join(parts) or "standard seat"


def what_to_build(
    fitted: Fitted, reader: Reader, *, as_is: bool = False, other_ball_joint: bool = False
) -> str:
    """Name a setting with all that belongs to it, the ball joint too where it is not the car's."""
    text = what_to_fit(fitted, reader, as_is=as_is)
    return f"{text}, {ball_joint_down(fitted, reader)}" if other_ball_joint else text


def ball_joint_down(fitted: Fitted, reader: Reader) -> str:
    """Name the lower ball joint and how far down it goes."""
    return f"lower ball joint {reader.fitted(fitted.ball_joint_drop_mm)} down"


def raised_parts(fitted: Fitted | NeededSetting, words: Vocabulary) -> list[tuple[str, float]]:
    """Name what goes up or down beside the outer pivot, and how far up. [mm]."""
    heights = {words.inner: fitted.rack_raise_mm, **bracket_heights(fitted)}
    return [(name, raised) for name, raised in heights.items() if raised]


def bracket_heights(fitted: Fitted | NeededSetting) -> dict[str, float]:
    """How far up the lateral link's brackets go, by their names. [mm]."""
    return {
        "lateral link's frame bracket": fitted.frame_bracket_raise_mm,
        "lateral link's axle bracket": fitted.axle_bracket_raise_mm,
    }


def moved(raised_mm: float, length: Callable[[float], str]) -> str:
    """Say which way, and how far, a part is moved."""
    return f"{'raised' if raised_mm > 0.0 else 'lowered'} {length(abs(raised_mm))}"


def stack_in_words(fitted: Fitted, reader: Reader) -> str:
    """Write a stack's height, and its pieces where there are several."""
    height, pieces = abs(fitted.outer_drop_mm), fitted.stack_mm
    if len(pieces) < 2:
        return reader.fitted(height)
    return f"{reader.length_with_unit(height)} ({reader.pieces(pieces)})"


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
