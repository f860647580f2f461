"""Whether both wheels of a case can be a car, and how far they are from mirror images."""

from optimizer.answers.plausibility import check
from optimizer.answers.sides.causes import compared
from optimizer.models.both_sides import BothSides
from optimizer.models.case import Case
from optimizer.models.result import CheckResult
from optimizer.models.together import CheckOfBothSides


def check_both(car: BothSides) -> CheckOfBothSides:
    """Say what a case amounts to on both sides, what looks wrong, and what parts the sides."""
    return CheckOfBothSides(
        **dict(_checked(car.left, "left")),
        right=_checked(car.right, "right"),
        together=compared(car),
    )


def _checked(case: Case, side: str) -> CheckResult:
    """Check one wheel, its points located as typed."""
    found = check(case)
    doubts = [
        doubt.model_copy(update={"location": f"{side}.{doubt.location}"})
        if doubt.location.startswith("points")
        else doubt
        for doubt in found.doubts
    ]
    return found.model_copy(update={"doubts": doubts})
