"""What a measuring sheet holds, before anyone has measured."""

from typing import Literal

from optimizer.models.answer import Answer
from optimizer.models.result import Reading, Subject

BLANKS = {
    "two-dial": ("front dial", "rear dial", "rear - front"),
    "dial-and-roller": ("dial",),
    "laser": ("spot ahead", "spot behind", "difference"),
    "mirror": ("spot",),
    "string": ("front", "rear", "rear - front"),
    "toe-plates": ("front tape", "rear tape", "rear - front"),
    "angle": ("toe",),
}


class Sheet(Answer):
    """A sheet to print: what to prepare, what to fit, and rows to fill in."""

    format: Literal[1] = 1
    subject: Subject
    kind: str
    fit: str
    prepare: list[str]
    blanks: list[str]
    rows: list[Reading]
    cautions: list[str]
