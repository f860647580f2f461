"""How far two measured wheels of a car are from mirror images of each other."""

from optimizer.models.answer import Answer, Fact


class Cause(Fact):
    """Something that parts the wheels; `left_deg` is the toe difference left without it."""

    left_deg: float | None


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
