"""Answers about a car of which one wheel was measured, where a test is about that wheel."""

from pathlib import Path

from optimizer.answers.check import check
from optimizer.answers.curve import curve
from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.models.case import Case
from optimizer.models.check import WheelCheck
from optimizer.models.curve import CurveRequest, WheelCurve
from optimizer.models.vehicle import Vehicle


def curve_of(case: Case, request: CurveRequest | None = None) -> WheelCurve:
    (wheel,) = curve(Vehicle((case,)), request).wheels
    return wheel


def check_of(case: Case) -> WheelCheck:
    (wheel,) = check(Vehicle((case,))).wheels
    return wheel


def evaluator_of(path: Path, **accuracy: float) -> Evaluator:
    """The car of a file, known and built as exactly as is said."""
    case = read_case(path)
    return Evaluator.of(
        case.model_copy(update={"accuracy": case.accuracy.model_copy(update=accuracy)})
    )
