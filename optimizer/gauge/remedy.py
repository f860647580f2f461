"""What a measured curve means on the car, without any points: words and first-order lengths.

Front view, small angles: a height error h of either pivot makes a slope h / (rod x arm); a rod of
length L instead of the right one makes a curvature (1/L - 1/L_right) / arm.  The acceptable bands
are the trade's (common practice, no source), at the stated diameter.
"""

from collections.abc import Iterator

import numpy as np

from optimizer.car.diagnosis import height_cure, length_cure
from optimizer.models.gauge import Measured
from optimizer.models.readings import MeasuredCar
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import MM_PER_INCH, Units, short_length

RACE_IN_PER_IN = 0.020
OVAL_IN_PER_IN = 0.030
PRODUCTION_IN_PER_IN = (0.023, 0.115)
SETTLED_DEG = 5.0 / 60.0
# Height that is spoken of, and its name; in inches the thinnest usual washer. [mm]
SHIMS: dict[Units, tuple[float, str]] = {"mm": (1.0, "1 mm"), "in": (MM_PER_INCH / 32.0, "1/32 in")}
ARMS_PLACE = {"ahead": "ahead of the axle", "behind": "behind the axle"}
PER_TRAVEL_MM: dict[Units, float] = {"mm": 25.0, "in": MM_PER_INCH}


def remedies(
    measured: Measured,
    car: MeasuredCar,
    units: Units,
    strokes_mm: tuple[float, float],
    tolerance_deg: float,
) -> list[str]:
    """Say what is wrong, what cures it and by how much, and whether it matters.

    `strokes_mm` are bump and droop that are judged; of one that is 0 nothing is said.
    """
    longest_mm = max(strokes_mm)
    return [
        _what_it_does(measured, strokes_mm, tolerance_deg),
        *_height(measured, car, units, longest_mm, tolerance_deg),
        *_length(measured, car, units, longest_mm, tolerance_deg),
        _whether_it_matters(measured, tolerance_deg, car.words),
    ]


def slope_of_height(car: MeasuredCar) -> float | None:
    """Slope that one millimeter of outer drop or rack raise adds, toward toe-in in bump positive.

    None where a length or the place of the arms is not known. [rad/mm per mm]
    """
    if car.rod_length is None or car.steering_arm is None or car.arms is None:
        return None
    worth = 1.0 / (car.rod_length * car.steering_arm)
    return worth if car.arms == "behind" else -worth


def _what_it_does(measured: Measured, strokes_mm: tuple[float, float], tolerance_deg: float) -> str:
    slope = measured.toe_slope_deg_per_10mm * max(strokes_mm) / 10.0
    curvature = measured.toe_curvature_deg
    if measured.peak_toe_change_deg <= tolerance_deg:
        swept = "" if measured.all_used_travel_swept else " as far as it was swept"
        return f"The wheel keeps its toe within the wanted tolerance{swept}."
    bump_mm, droop_mm = strokes_mm
    if droop_mm == 0.0:
        return f"The wheel toes {_side(curvature + slope)} in bump; droop is not judged."
    if bump_mm == 0.0:
        return f"The wheel toes {_side(curvature - slope)} in droop; bump is not judged."
    if abs(curvature) > abs(slope):
        return f"The wheel toes {_side(curvature)} both in bump and in droop (a C)."
    lopsided = ", lopsidedly" if abs(curvature) > tolerance_deg else ""
    return f"The wheel toes {_side(slope)} in bump and toes {_side(-slope)} in droop{lopsided}."


def _side(angle: float) -> str:
    return "in" if angle > 0.0 else "out"


def _height(
    measured: Measured, car: MeasuredCar, units: Units, longest_mm: float, tolerance_deg: float
) -> Iterator[str]:
    slope = measured.toe_slope_deg_per_10mm
    if abs(slope) * longest_mm / 10.0 <= tolerance_deg:
        return
    if car.arms is None:
        yield (
            f"That slope is a height error. Which way to move depends on where the "
            f"{car.words.arm}s are: state arms, ahead of or behind the axle."
        )
        return
    cure = height_cure(slope, arms_ahead=car.arms == "ahead", words=car.words)
    error = f"That slope is a height error ({car.words.arm}s {ARMS_PLACE[car.arms]}): {cure}"
    worth = slope_of_height(car)
    if worth is None:
        yield f"{error}. With rod_length and steering_arm the amount can be said too."
        return
    height = abs(np.radians(slope) / 10.0 / worth)
    yield (
        f"{error}, by about {short_length(height, units)} from what is fitted now (first order, "
        f"front view; {_worth_text(abs(worth), units)})."
    )


def _worth_text(worth: float, units: Units) -> str:
    shim, name = SHIMS[units]
    travel = PER_TRAVEL_MM[units]
    minutes = float(np.degrees(worth)) * shim * travel * 60.0
    return f"{name} is worth {minutes:.1f} minutes per {short_length(travel, units)} of travel"


def _length(
    measured: Measured, car: MeasuredCar, units: Units, longest_mm: float, tolerance_deg: float
) -> Iterator[str]:
    curvature = measured.toe_curvature_deg
    if abs(curvature) <= tolerance_deg:
        return
    text = (
        "Shims can't cure the part that goes the same way in bump and droop: it is a length error"
    )
    if car.arms is None:
        yield f"{text}; state arms, ahead or behind, to hear which way."
        return
    cure = length_cure(curvature, arms_ahead=car.arms == "ahead", words=car.words)
    amount = _length_error(curvature, car, longest_mm)
    yield f"{text}; {cure}{'' if amount is None else f', by about {short_length(amount, units)}'}."


def _length_error(curvature_deg: float, car: MeasuredCar, longest_mm: float) -> float | None:
    """How far the rod is from the right length, by its curvature. [mm]."""
    if car.rod_length is None or car.steering_arm is None:
        return None
    bend = 2.0 * np.radians(abs(curvature_deg)) / longest_mm**2 * car.steering_arm
    too_short = (curvature_deg < 0.0) != (car.arms == "ahead")
    right = 1.0 / car.rod_length - bend if too_short else 1.0 / car.rod_length + bend
    return float(abs(1.0 / right - car.rod_length)) if right > 0.0 else None


def _whether_it_matters(measured: Measured, tolerance_deg: float, words: Vocabulary) -> str:
    slope, peak = abs(measured.toe_slope_in_per_in), measured.peak_toe_change_deg
    if peak <= tolerance_deg:
        where = "used travel" if measured.all_used_travel_swept else "part that was swept"
        return f"It does not matter: toe stays within the tolerance over the {where}."
    if not words.steers:
        return (
            f"Does it matter? At {slope:.3f} in per in: no band that is accepted for a rear axle "
            "is known here. A maker may mean some toe change at the rear: hold it against the "
            "maker's band, if there is one (aim.band)."
        )
    band, rate = _band(slope), max(slope, measured.toe_rate_in_per_in)
    where = f"At {slope:.3f} in per in"
    if _band(rate) != band:
        band = _band(rate)
        where += f" at ride height, but up to {rate:.3f} on the way to an end of the travel,"
    settled = "; under 5 minutes felt settled to kit-car builders" if peak < SETTLED_DEG else ""
    return f"Does it matter? {where} it is {band}{settled}."


def _band(in_per_in: float) -> str:
    """Where a rate of toe lies among the bands of the trade."""
    low, high = PRODUCTION_IN_PER_IN
    if in_per_in <= RACE_IN_PER_IN:
        return f"inside what racers accept ({RACE_IN_PER_IN:.3f} in per in)"
    if in_per_in <= OVAL_IN_PER_IN:
        return (
            f"more than racers accept ({RACE_IN_PER_IN:.3f} in per in), near what is often quoted "
            f"for paved ovals ({OVAL_IN_PER_IN:.3f})"
        )
    if in_per_in <= high:
        return f"about what production cars have ({low:.3f} to {high:.3f} in per in)"
    return f"more than production cars have ({high:.3f} in per in): the car will dart over bumps"
