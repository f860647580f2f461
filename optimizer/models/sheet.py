"""What a measuring sheet holds, before anyone has measured."""

from typing import Literal

from optimizer.models.answer import Answer
from optimizer.models.setting import Strength
from optimizer.models.strength import RodThread, StudSection
from optimizer.models.subject import Subject
from optimizer.models.suggest import Reading

BLANKS = {
    "two-dial": ("front dial", "rear dial", "rear - front"),
    "dial-and-roller": ("dial",),
    "laser": ("spot ahead", "spot behind", "difference"),
    "mirror": ("spot",),
    "string": ("front", "rear", "rear - front"),
    "toe-plates": ("front tape", "rear tape", "rear - front"),
    "angle": ("toe",),
}
SET_UP = {
    "two-dial": "Spacing of the dials: ________ ; a reading grows as the plate moves ________ "
    "board.",
    "dial-and-roller": "From dial to roller: ________ ; the dial stands at the front / rear; "
    "its reading grows as the plate moves ________ board.",
    "laser": "From the axle to the target ahead: ________ , behind: ________ ; a reading grows "
    "________ board.",
    "mirror": "From the mirror to the target: ________ ; a reading grows with toe-in / toe-out.",
    "string": "Between the two places on the rim: ________ ; string outboard / inboard of it.",
    "toe-plates": "Between the two tape slots of a plate: ________ .",
    "angle": "Unit: deg / min; of this wheel / of both wheels.",
}


class Sheet(Answer):
    """A sheet to print: what to prepare, what to build, and rows to fill in."""

    format: Literal[1] = 1
    subject: Subject
    kind: str
    fit: str
    tie_rod_length_change_mm: float
    stud: StudSection | None
    thread: RodThread | None
    strength: Strength
    prepare: list[str]
    set_up: str
    blanks: list[str]
    rows: list[Reading]
    cautions: list[str]
