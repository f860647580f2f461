"""What a measured curve means on the car, without any points: first-order lengths.

Front view, small angles: a height error h of either pivot makes a slope h / (rod x arm); a rod of
length L instead of the right one makes a curvature (1/L - 1/L_right) / arm.
"""

from collections.abc import Iterator
from typing import Literal

import numpy as np

from optimizer.car.diagnosis import PivotEffects, height_cure, length_cure
from optimizer.models.answer import Fact
from optimizer.models.gauge import Measured
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.remedies import (
    OVAL_IN_PER_IN,
    PRODUCTION_IN_PER_IN,
    RACE_IN_PER_IN,
    CurvatureUnknown,
    CurveShape,
    HeightError,
    LengthError,
    Matters,
    Way,
)
from optimizer.models.sweeps import Lesson

SETTLED_DEG = 5.0 / 60.0
KnownBy = Lesson | PivotEffects | Literal["lengths", "points"]
FAR_BEYOND = 3.0  # times the height that was tried: an amount beyond is drawn out, not known


def remedies(
    measured: Measured,
    seen: Measured,
    car: MeasuredCar,
    strokes_mm: tuple[float, float],
    tolerance_deg: float,
    by: KnownBy = "lengths",
) -> list[Fact]:
    """What is wrong, what cures it and by how much, and whether it matters.

    `measured` are figures beyond what is wanted, `seen` those of the wheel itself.  `strokes_mm`
    are bump and droop that are judged; of one that is 0 nothing is said.  `by` is what
    a height is known from: what another stack did, the car's lengths, or points, from which the
    next stack follows, with effects on the model where the direction map may not hold.
    """
    slope_share = abs(measured.toe_slope_deg_per_10mm) * max(strokes_mm) / 10.0
    return [
        _shape(measured, strokes_mm, tolerance_deg).model_copy(
            update={"beyond_wanted": any(measured.wanted_deg)}
        ),
        *([_height(measured, car, by)] if slope_share > tolerance_deg else []),
        *_length(measured, car, max(strokes_mm), tolerance_deg, by),
        _within(measured)
        if measured.peak_toe_change_deg <= tolerance_deg
        else _whether_it_matters(seen, strokes_mm, steers=car.words.steers),
    ]


def slope_of_height(car: MeasuredCar) -> float | None:
    """Slope that one millimeter of outer drop or rack raise adds, toward toe-in in bump positive.

    None where a length or the place of the arms is not known. [rad/mm per mm]
    """
    if car.rod_length is None or car.steering_arm is None or car.arms is None:
        return None
    worth = 1.0 / (car.rod_length * car.steering_arm)
    return worth if car.arms == "behind" else -worth


def way_of(angle: float) -> Way:
    """Which way a wheel toes."""
    return "in" if angle > 0.0 else "out"


def _shape(measured: Measured, strokes_mm: tuple[float, float], tolerance_deg: float) -> CurveShape:
    slope = measured.toe_slope_deg_per_10mm * max(strokes_mm) / 10.0
    curvature = measured.toe_curvature_deg or 0.0
    if measured.peak_toe_change_deg <= tolerance_deg:
        return CurveShape(kind="keeps" if measured.all_used_travel_swept else "keeps-as-swept")
    bump_mm, droop_mm = strokes_mm
    if droop_mm == 0.0:
        return CurveShape(kind="bump", way=way_of(curvature + slope))
    if bump_mm == 0.0:
        return CurveShape(kind="droop", way=way_of(curvature - slope))
    if abs(curvature) > abs(slope):
        return CurveShape(kind="c", way=way_of(curvature))
    lopsided = abs(curvature) > tolerance_deg
    return CurveShape(kind="lopsided-slope" if lopsided else "slope", way=way_of(slope))


def _height(measured: Measured, car: MeasuredCar, by: KnownBy) -> HeightError:
    slope, worth = measured.toe_slope_deg_per_10mm, slope_of_height(car)
    if isinstance(by, PivotEffects):
        return HeightError(
            kind="worth-by-points",
            arms=car.arms,
            cure=height_cure(slope, arms_ahead=by.height_as_ahead),
            worth_deg_per_mm2=float(np.degrees(abs(by.lowered))),
        )
    if car.arms is None:
        return HeightError(kind="arms-unknown")
    cure = height_cure(slope, arms_ahead=car.arms == "ahead")
    if isinstance(by, Lesson):
        worth = float(np.radians(by.worth_deg_per_mm2))
    if worth is None:
        return HeightError(kind="lengths-unknown", arms=car.arms, cure=cure)
    by_mm = float(abs(np.radians(slope) / 10.0 / worth))
    found = HeightError(
        kind="amount",
        arms=car.arms,
        cure=cure,
        by_mm=by_mm,
        worth_deg_per_mm2=float(np.degrees(abs(worth))),
    )
    if isinstance(by, Lesson):
        times = by_mm / abs(by.tried_mm)
        far = times if times >= FAR_BEYOND else None
        return found.model_copy(update={"kind": "tried", "times_tried": far})
    return found if by == "lengths" else found.model_copy(update={"kind": "worth", "by_mm": None})


def _length(
    measured: Measured,
    car: MeasuredCar,
    longest_mm: float,
    tolerance_deg: float,
    by: KnownBy,
) -> Iterator[LengthError | CurvatureUnknown]:
    curvature = measured.toe_curvature_deg
    if curvature is None:
        low, high = min(measured.travel_mm), max(measured.travel_mm)
        middle = 0.5 * (low + high)
        at_home = low < 0.0 < high and abs(middle) < 0.25 * (high - low)
        yield CurvatureUnknown(low_mm=low, high_mm=high, tells_mm=0.0 if at_home else middle)
        return
    if abs(curvature) <= tolerance_deg:
        return
    if car.arms is None:
        yield LengthError(kind="arms-unknown")
        return
    if isinstance(by, PivotEffects):
        cure = length_cure(curvature, arms_ahead=by.length_as_ahead)
        yield LengthError(kind="lengths-unknown", cure=cure)
        return
    cure = length_cure(curvature, arms_ahead=car.arms == "ahead")
    by_mm = _length_error(curvature, car, longest_mm)
    yield LengthError(kind="lengths-unknown" if by_mm is None else "amount", cure=cure, by_mm=by_mm)


def _length_error(curvature_deg: float, car: MeasuredCar, longest_mm: float) -> float | None:
    """How far the rod is from the right length, by its curvature. [mm]."""
    if car.rod_length is None or car.steering_arm is None:
        return None
    bend = 2.0 * np.radians(abs(curvature_deg)) / longest_mm**2 * car.steering_arm
    too_short = (curvature_deg < 0.0) != (car.arms == "ahead")
    right = 1.0 / car.rod_length - bend if too_short else 1.0 / car.rod_length + bend
    return float(abs(1.0 / right - car.rod_length)) if right > 0.0 else None


def _within(measured: Measured) -> Matters:
    return Matters(
        kind="within" if measured.all_used_travel_swept else "within-as-swept",
        slope_in_per_in=abs(measured.toe_slope_in_per_in),
    )


def _whether_it_matters(
    seen: Measured, strokes_mm: tuple[float, float], *, steers: bool
) -> Matters:
    slope, way = abs(seen.toe_slope_in_per_in), _way_in_bump(seen, strokes_mm)
    if not steers:
        return Matters(kind="rear", slope_in_per_in=slope, way=way)
    rate = max(slope, seen.toe_rate_in_per_in)
    return Matters(
        kind=_band(rate, way),
        slope_in_per_in=slope,
        way=way,
        rate_in_per_in=None if _band(rate, way) == _band(slope, way) else rate,
        settled=seen.peak_toe_change_deg < SETTLED_DEG,
    )


def _way_in_bump(measured: Measured, strokes_mm: tuple[float, float]) -> Way:
    """Where the wheel toes in full bump; where none was swept, the other way than in droop."""
    bump_mm, droop_mm = strokes_mm
    stroke = bump_mm or -droop_mm
    bend = (measured.toe_curvature_deg or 0.0) * (stroke / max(strokes_mm)) ** 2
    end = measured.toe_slope_deg_per_10mm * stroke / 10.0 + bend
    return way_of(end if bump_mm else -end)


def _band(in_per_in: float, way: Way) -> Literal["race", "oval", "production", "toe-in", "darts"]:
    """Where a rate of toe lies among the bands of the trade; production cars toe out in bump."""
    if in_per_in <= RACE_IN_PER_IN:
        return "race"
    if in_per_in <= OVAL_IN_PER_IN:
        return "oval"
    if in_per_in > PRODUCTION_IN_PER_IN[1]:
        return "darts"
    return "production" if way == "out" else "toe-in"
