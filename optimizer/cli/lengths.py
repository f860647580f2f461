"""Lengths on the command line: in the case's unit, or with a unit written behind the number."""

import argparse
import math
import re
from collections.abc import Callable, Iterable
from typing import NamedTuple

from optimizer.errors import PivotwrightError
from optimizer.units import MM_PER, Units, length_text

FARTHEST_MM = 1000.0
LEAST_STEP_MM = 0.1
MOST_HEIGHTS = 1000
LOWEST_MM = 400.0
FEW_INCHES = 12.0  # a bare number above it in an inch case may well be millimeters
LONGEST_MM = 100.0  # of what is fitted, as a bare number; more is a zero too many
FITTED = (
    "outer_drop",
    "right_outer_drop",
    "rack_raise",
    "rack_fore_aft",
    "ball_joint_drop",
    "knuckle_plate",
    "crossmember_spacer",
)
FEW_INCHES_OF = dict.fromkeys((*FITTED, "step"), LONGEST_MM / MM_PER["in"])
ROUNDING = 1e-9  # of a number of steps
WRITTEN = re.compile(
    r"""(?P<sign> [+-]?)
        (?: (?: (?P<whole> \d+) [ -]+ )? (?P<above> \d+) / (?P<below> \d+)
          | (?P<number> (?: \d+\.?\d* | \.\d+ ) (?: e[+-]?\d+ )? ) )
        \s* (?P<unit> mm | in | " )? """,
    re.VERBOSE,
)
UNITS: dict[str | None, Units] = {"mm": "mm", "in": "in", '"': "in"}
FORMS = "a length such as 9.5, 9.5mm, 0.375in or 3/8in"


class TypedLength(NamedTuple):
    """A length as typed; `units` is None where none was written behind it."""

    value: float
    units: Units | None
    text: str

    def mm(self, of_case: Units) -> float:
        """The length, in the case's unit where none was written. [mm]."""
        return self.value * MM_PER[self.units or of_case]


def length(text: str) -> TypedLength:
    """Read a length."""
    found = WRITTEN.fullmatch(text.strip())
    if found is None or not float(found["below"] or 1):
        raise argparse.ArgumentTypeError(f"must be {FORMS}, got {text!r}")
    value = float(found["number"] or found["whole"] or 0.0)
    if found["above"]:
        value += float(found["above"]) / float(found["below"])
    if not value <= FARTHEST_MM:
        raise argparse.ArgumentTypeError(f"must be {FORMS}, within ±1000 mm, got {text!r}")
    signed = -value if found["sign"] == "-" else value
    return TypedLength(signed, UNITS.get(found["unit"]), text)


def stroke(text: str) -> TypedLength:
    """Read a length that is not negative."""
    typed = length(text)
    if typed.value < 0.0:
        raise argparse.ArgumentTypeError(f"must be 0 or more, got {text!r}")
    return typed


def step(text: str) -> TypedLength:
    """Read a step of wheel travel."""
    typed = length(text)
    if typed.mm("in") < LEAST_STEP_MM:
        raise argparse.ArgumentTypeError(f"must be 0.1 mm or more, got {text!r}")
    return typed


class HeightRange(NamedTuple):
    """Ride heights from the first to the second, both included, in steps of the third."""

    low: TypedLength
    high: TypedLength
    step: TypedLength

    @property
    def units(self) -> Units | None:
        """The unit that was written, behind the last number if behind several."""
        return self.step.units or self.high.units or self.low.units

    def mm(self, of_case: Units) -> list[float]:
        """Every height. [mm].

        Raises
        ------
        PivotwrightError
            They go too far, or there are none or too many.
        """
        low, high, step = (one.mm(of_case) for one in (self.low, self.high, self.step))
        if not (-LOWEST_MM <= low <= high <= LOWEST_MM):
            limit = length_text(LOWEST_MM, of_case)
            bare = of_case == "in" and self.step.units is None
            hint = (
                "; a bare number is inches here, write A:B:STEPmm for millimeters" if bare else ""
            )
            raise PivotwrightError(
                f"--heights: must be A:B:STEP with A up to B within ±{limit}{hint}"
            )
        count = math.floor((high - low) / step + ROUNDING) + 1
        if count > MOST_HEIGHTS:
            raise PivotwrightError(
                f"--heights: must be at most {MOST_HEIGHTS} heights, got {count}"
            )
        return [low + step * k for k in range(count)]


def heights(text: str) -> HeightRange:
    """Read a range of ride heights; a unit written behind the last number is that of all."""
    try:
        low, high, by = (length(part) for part in text.split(":"))
    except (ValueError, argparse.ArgumentTypeError):
        message = f"must be A:B:STEP, such as 0:60:5 or 0:2:0.25in, got {text!r}"
        raise argparse.ArgumentTypeError(message) from None
    low, high = (one._replace(units=one.units or by.units) for one in (low, high))
    if not by.value > 0.0 or (low.mm("mm") > high.mm("mm") and low.units == high.units):
        message = f"must be A:B:STEP with A up to B and a step above 0, got {text!r}"
        raise argparse.ArgumentTypeError(message)
    found = HeightRange(low, high, by)
    try:
        found.mm("mm")
    except PivotwrightError as fault:
        raise argparse.ArgumentTypeError(str(fault).removeprefix("--heights: ")) from None
    return found


def add_lengths(
    parser: argparse.ArgumentParser,
    options: Iterable[tuple[str, Callable[[str], TypedLength], str]],
) -> None:
    """Take options that are lengths; None where they are left out."""
    for name, kind, text in options:
        parser.add_argument(name, type=kind, metavar="LENGTH", help=text)


def in_millimeters(options: argparse.Namespace, of_case: Units) -> None:
    """Put millimeters in the place of every length of the options.

    Raises
    ------
    PivotwrightError
        One is longer than anything on a car, or may well be meant in the other unit.
    """
    for name, typed in vars(options).items():
        if isinstance(typed, TypedLength):
            value = typed.mm(of_case)
            option, text = f"--{name.replace('_', '-')}", typed.text.strip()
            few = FEW_INCHES_OF.get(name, FEW_INCHES)
            if of_case == "in" and typed.units is None and abs(typed.value) > few:
                raise PivotwrightError(
                    f"{option}: a bare {text} is {text} inches here; write {text}mm or {text}in"
                )
            if name in FITTED and typed.units is None and abs(value) > LONGEST_MM:
                raise PivotwrightError(
                    f"{option}: {text} mm is more than anyone fits; a zero too many? (write "
                    f"{text}mm if it is meant)"
                )
            if abs(value) > FARTHEST_MM:
                limit = length_text(FARTHEST_MM, of_case)
                raise PivotwrightError(f"{option}: must be within ±{limit}, got {typed.text}")
            setattr(options, name, value)
