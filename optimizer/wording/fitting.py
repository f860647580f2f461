"""What is fitted, as a technician would order it, and the toe reset that it takes."""

from optimizer.models.setting import Fitted
from optimizer.wording.reader import Reader


def what_to_fit(fitted: Fitted, reader: Reader, *, as_is: bool = False) -> str:
    """Name a setting as a technician would order it."""
    if as_is:
        return "leave it as it is"
    parts = []
    if fitted.outer_drop_mm:
        way = "drop" if fitted.outer_drop_mm > 0.0 else "raise"
        parts.append(f"{way} outer {stack_in_words(fitted, reader)}")
    if fitted.rack_raise_mm:
        way = "raise" if fitted.rack_raise_mm > 0.0 else "lower"
        parts.append(f"{way} {reader.words.inner} {reader.fitted(abs(fitted.rack_raise_mm))}")
    for end, raised in (
        ("frame", fitted.frame_bracket_raise_mm),
        ("axle", fitted.axle_bracket_raise_mm),
    ):
        if raised:
            way = "raise" if raised > 0.0 else "lower"
            by = reader.fitted(abs(raised))
            parts.append(f"{way} lateral link's {end} bracket {by}")
    return ", ".join(parts) or "standard seat"


def stack_in_words(fitted: Fitted, reader: Reader) -> str:
    """Write a stack's height, and its pieces where there are several."""
    height, pieces = abs(fitted.outer_drop_mm), fitted.stack_mm
    if len(pieces) < 2:
        return reader.fitted(height)
    return f"{reader.length_with_unit(height)} ({reader.pieces(pieces)})"


def toe_reset_in_words(longer_mm: float, reader: Reader) -> str:
    """Say what the toe reset does to the tie rod."""
    way = "longer" if longer_mm > 0.0 else "shorter"
    change = reader.length_with_unit(abs(longer_mm))
    words = reader.words
    return (
        f"{words.reset} at ride height: the {words.short_rod} comes out about {change} {way} than "
        "measured."
    )
