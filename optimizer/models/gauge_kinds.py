"""Kinds of gauges: what a row of each holds, and which keys say how it was set up."""

from typing import Literal

Kind = Literal[
    "two-dial",
    "dial-and-roller",
    "single-dial",
    "laser",
    "wall",
    "mirror",
    "string",
    "toe-plates",
    "angle",
]
Grows = Literal["outboard", "inboard", "toe-in", "toe-out", "forward", "rearward"]

COLUMNS: dict[str, tuple[str, ...]] = {
    "two-dial": ("travel", "front", "rear"),
    "dial-and-roller": ("travel", "dial"),
    "single-dial": ("travel", "dial"),
    "laser": ("travel", "spot"),
    "wall": ("travel", "spot"),
    "mirror": ("travel", "spot"),
    "string": ("travel", "front", "rear"),
    "toe-plates": ("travel", "front", "rear"),
    "angle": ("travel", "toe"),
}
NEEDED: dict[str, tuple[str, ...]] = {
    "two-dial": ("spacing", "reading_grows"),
    "dial-and-roller": ("spacing", "reading_grows", "dial_at"),
    "single-dial": ("dial_distance", "reading_grows", "dial_at"),
    "laser": ("reading_grows",),
    "wall": ("wall_distance", "reading_grows"),
    "mirror": ("target_distance", "reading_grows"),
    "string": ("spacing", "reading_grows"),
    "toe-plates": ("spacing",),
    "angle": (),
}
ALLOWED: dict[str, tuple[str, ...]] = {
    "two-dial": ("revolution",),
    "dial-and-roller": ("revolution",),
    "single-dial": ("revolution",),
    "laser": ("target_ahead", "target_behind"),
    "string": ("below_center",),
    "toe-plates": ("below_center",),
    "angle": ("angle_unit", "total", "reading_grows"),
}
SET_UP = sorted({key for keys in (*NEEDED.values(), *ALLOWED.values()) for key in keys})
ACROSS: tuple[Grows, ...] = ("outboard", "inboard")
TOE: tuple[Grows, ...] = ("toe-in", "toe-out")
ALONG: tuple[Grows, ...] = ("forward", "rearward")
# The ways in which a reading may grow, and what that is the way of.
WAYS: dict[str, tuple[tuple[Grows, ...], str]] = {
    "mirror": (TOE, "the way the spot tells"),
    "angle": (TOE, "the way that counts as positive"),
    "wall": (ALONG, "the way the spot goes along the wall"),
}


def row_columns(kind: object, *, both: bool) -> tuple[str, ...]:
    """Names of the numbers in a row, `both` for two targets; none of a gauge that there isn't."""
    if kind == "laser" and both:
        return ("travel", "ahead", "behind")
    return COLUMNS.get(str(kind), ())
