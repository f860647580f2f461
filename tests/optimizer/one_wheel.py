"""Answers about a car of which one wheel was measured, where a test is about that wheel."""

from optimizer.answers.check import check
from optimizer.answers.curve import curve
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
