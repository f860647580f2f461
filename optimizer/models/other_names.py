"""What people call things that a file calls otherwise; and the word that was probably meant."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

# Layouts by names that the trade uses for them; common practice.
LAYOUTS = {
    "strut": ("macpherson", "mcpherson", "macpherson-strut", "mac-strut", "damper-strut"),
    "double-wishbone": ("a-arm", "double-a-arm", "wishbone", "wishbones", "sla", "upper-lower-arm"),
    "twin-link-strut": ("tension-strut", "two-link-strut", "split-arm-strut", "double-pivot-strut"),
    "five-link": ("multi-link", "multilink", "5-link", "four-link", "4-link"),
    "leaf-axle": (
        "leaf",
        "leaf-spring",
        "leaf-springs",
        "leaf-sprung",
        "leaf-sprung-axle",
        "leafs",
    ),
    "beam-axle": ("solid-axle", "live-axle", "straight-axle", "rigid-axle", "axle", "dead-axle"),
}
# Keys by names that say the reverse, and what to make of it.
REVERSED = {
    "lowered_by": (
        ("lift", "lifted", "lift_by", "lifted_by", "raise", "raised", "raise_by", "raised_by"),
        "lowered_by, below 0 for a car that is lifted",
    ),
}
UNITS = {
    "in": ("inch", "inches", "imperial", "us", '"'),
    "mm": ("millimeter", "millimeters", "millimetres", "metric", "cm"),
}


def meant(typed: object, known: Sequence[str]) -> str | None:
    """Which of the known words something was typed for, None where none is near."""
    if not isinstance(typed, str):
        return None
    word = "-".join(typed.lower().replace("_", " ").split())
    for name, others in (*LAYOUTS.items(), *UNITS.items()):
        if name in known and (word == name or word in others):
            return name
    near = get_close_matches(word, known, n=1, cutoff=0.6)
    return near[0] if near else None


def did_you_mean(typed: object, known: Iterable[str]) -> str:
    """End a sentence about a word that is not known with the one that was probably meant."""
    near = meant(typed, list(known))
    return "" if near is None else f"; did you mean {near}?"


def reversed_key(typed: str, known: Iterable[str]) -> str | None:
    """The key that says the reverse of one that is not known, and how; None where none does."""
    return next(
        (
            said
            for key, (others, said) in REVERSED.items()
            if key in known and typed.lower() in others
        ),
        None,
    )
