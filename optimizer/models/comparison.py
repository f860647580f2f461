"""How far two measured wheels of a car are from mirror images of each other."""

from typing import Literal, get_args

from optimizer.models.answer import Answer, Fact

CauseKind = Literal[
    "carrier", "rods", "stacks-swapped", "outer-height", "arms", "point", "camber", "no-single-one"
]
Axis = Literal["x", "y", "z"]

AXES: tuple[Axis, ...] = get_args(Axis)
UNEQUAL_RODS_MM = (1.5, 5.0)  # what makers' manuals ask for; common practice, no source


class Apart(Answer):
    """How far a left point stands off the mirror image of the right one, along one axis. [mm].

    Ahead, outboard and up are positive.
    """

    axis: Axis
    by_mm: float


class Cause(Fact):
    """Something that parts the wheels.

    `point` is one that is `apart`; `left_mm` and `right_mm` are the lengths of the wheels' rods or
    arms, `left_deg` and `right_deg` their cambers.  Made even, or with the outer heights changed
    over, it would leave a toe difference of `without_deg` instead of `peak_deg`, None where that is
    not known.
    """

    kind: CauseKind
    point: str | None = None
    apart: tuple[Apart, ...] = ()
    left_mm: float | None = None
    right_mm: float | None = None
    left_deg: float | None = None
    right_deg: float | None = None
    peak_deg: float
    without_deg: float | None = None


class SidesCompared(Answer):
    """How far the wheels are from mirror images of each other, the car as measured.

    `peak_toe_difference_deg` is the largest difference of both wheels' toe change over the used
    travel, at `at_travel_mm`; `tape_alone_deg` what errors of the tape alone would make of two
    wheels that are alike, with 95 % probability.  `alike` says that no more was found than that;
    `causes` what else explains it, the likeliest first.
    """

    alike: bool
    peak_toe_difference_deg: float
    at_travel_mm: float
    tape_alone_deg: float
    causes: list[Cause]


class TotalToe(Answer):
    """Toe change of both wheels together, and left less right, over the used travel.

    Beyond the wanted gain; best is with number 1, None where nothing fits.
    """

    travel_mm: list[float]
    total_as_is_deg: list[float]
    difference_as_is_deg: list[float]
    total_best_deg: list[float] | None
    difference_best_deg: list[float] | None
