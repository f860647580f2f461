"""From readings to the next stack: the answer of `gauge`."""

from dataclasses import dataclass

import numpy as np

from optimizer.adjust import Settings, mirror_of
from optimizer.curve import subject_of
from optimizer.evaluate import Evaluator, scored_travel
from optimizer.gauge.conversions import gauge_of, toe_readings, wheel_travel
from optimizer.gauge.fit import FittedPoints, fitted_points
from optimizer.gauge.measured import MeasuredCurve, measured_curve
from optimizer.gauge.next_stack import NextStack, next_stack
from optimizer.gauge.questions import questions
from optimizer.gauge.remedy import remedies
from optimizer.gauge.sweep import Sweep
from optimizer.models.case import Aim, Case
from optimizer.models.gauge import (
    GaugeReading,
    GaugeResult,
    Measured,
    MovedCoordinate,
    NextSetting,
)
from optimizer.models.readings import MeasuredCar, Readings
from optimizer.models.result import Subject
from optimizer.sampled import moved_corner
from optimizer.search.space import Space, space_of
from optimizer.units import MM_PER

LEAST_NOISE = float(np.radians(0.002))  # no gauge of this kind reads finer
MOVED_SIGMAS = 3.0  # a coordinate moved by more than this asks to be measured again
STOP_WITHIN_DEG = 0.01  # nearer than this to the best of the hardware, no gauge shows a gain
UNKNOWN_DIAMETER_MM = 650.0  # where no diameter is stated, for slopes in inch per inch


@dataclass(frozen=True)
class Swept:
    """One readings file and the curve that it makes."""

    readings: Readings
    curve: MeasuredCurve
    noise: float


def swept(readings: Readings) -> Swept:
    """Turn a readings file into a curve, its noise as given or as its scatter shows. [rad]."""
    curve = measured_curve(wheel_travel(readings), toe_readings(readings))
    noise = max(curve.scatter, LEAST_NOISE)
    if readings.noise is not None:
        pair = 2.0**0.5 if len(readings.columns) == 3 else 1.0
        noise = abs(float(gauge_of(readings).toe(np.array(readings.noise * pair))))
    return Swept(readings, curve, noise)


def gauge(case: Case | None, readings: list[Readings], *, seed: int = 0) -> GaugeResult:
    """Say what readings show and, with a case, what to fit next.

    Parameters
    ----------
    case : Case, optional
        The car as measured by tape; without it only the curve is judged.
    readings : list of Readings
        One or more sweeps of the same wheel; the last is the one that is diagnosed, all of them
        correct the points.
    seed : int
        Of the random draw of cars that the readings still allow.

    Returns
    -------
    GaugeResult
        `next` counts from the standard seat.
    """
    sweeps = [swept(one) for one in readings]
    last = sweeps[-1]
    subject = subject_of(case) if case is not None else _subject(last.readings)
    strokes = (case.ride.bump, case.ride.droop) if case is not None else _strokes(last)
    aim = case.aim if case is not None else last.readings.aim or Aim()
    measured = _measured(last, aim, strokes, subject.toe_diameter_mm)
    told = GaugeResult(
        subject=subject,
        measured=measured,
        diagnosis=remedies(
            measured, _car(case, last.readings), subject.units, max(strokes), aim.tolerance_deg
        ),
        questions=[text for one in sweeps for text in questions(one.readings, one.curve)],
        fitted_points={},
        moved=[],
        readings_noise_deg=float(np.degrees(last.noise)),
        next=None,
        expected=[],
    )
    return told if case is None else _corrected(case, sweeps, told, seed)


def _corrected(case: Case, sweeps: list[Swept], told: GaugeResult, seed: int) -> GaugeResult:
    """Add what the readings make of the case: points, next stack, readings to expect."""
    evaluator, space = Evaluator.of(case), space_of(case)
    fit = fitted_points(evaluator, [_sweep(case, one) for one in sweeps])
    corrected = evaluator.with_corner(moved_corner(evaluator, fit.errors[None]).row(0))
    chosen = next_stack(evaluator, fit, space, seed)
    last = sweeps[-1]
    expected = [] if chosen.row is None else _expected(corrected, space, chosen.row, last)
    return told.model_copy(
        update={
            "fitted_points": _points(case, evaluator, fit),
            "moved": _moved(evaluator, fit),
            "next": _next(corrected, space, chosen, _sweep(case, last).fitted),
            "expected": expected,
        }
    )


def _subject(readings: Readings) -> Subject:
    diameter = readings.display.diameter or readings.car.tire_diameter or UNKNOWN_DIAMETER_MM
    return Subject(
        name=readings.name,
        layout="unknown",
        side=readings.side or "left",
        units=readings.units,
        toe_unit=readings.display.toe_unit,
        toe_diameter_mm=diameter,
    )


def _strokes(one: Swept) -> tuple[float, float]:
    """Bump and droop that the car uses; what was swept where the file does not say."""
    travel = one.curve.travel
    swept_strokes = (max(float(travel.max()), 0.0), max(-float(travel.min()), 0.0))
    return one.readings.used or swept_strokes


def _measured(one: Swept, aim: Aim, strokes: tuple[float, float], diameter_mm: float) -> Measured:
    curve, gain = one.curve, float(np.radians(aim.toe_gain_deg_per_10mm) / 10.0)
    travel = scored_travel(*strokes)
    change = curve.at(travel) - gain * travel
    coefficients = [*curve.coefficients, 0.0]
    slope = coefficients[0] - gain
    return Measured(
        travel_mm=curve.travel.tolist(),
        toe_deg=np.degrees(curve.toe).tolist(),
        toe_slope_deg_per_10mm=float(np.degrees(slope)) * 10.0,
        toe_slope_in_per_in=float(slope) * diameter_mm,
        toe_curvature_deg=float(np.degrees(coefficients[1]) * max(strokes) ** 2),
        peak_toe_change_deg=float(np.degrees(np.abs(change).max())),
        scatter_deg=float(np.degrees(curve.scatter)),
        play_deg=float(np.degrees(curve.play)) if np.isfinite(curve.play) else None,
        rows_left_out=[int(place) + 1 for place in np.flatnonzero(curve.apart)],
    )


def _car(case: Case | None, readings: Readings) -> MeasuredCar:
    """Lengths for the first-order remedies: from the points where there are any."""
    if case is None:
        return readings.car
    corner = Evaluator.of(case).corner
    return MeasuredCar(
        rod_length=float(np.hypot(*(corner.outer_seat - corner.inner)[1:])),
        steering_arm=corner.steering_arm,
        arms="ahead" if corner.arms_ahead else "behind",
        tire_diameter=2.0 * case.wheel.tire_radius,
    )


def _sweep(case: Case, one: Swept) -> Sweep:
    readings, kept = one.readings, ~one.curve.apart
    drop = readings.ball_joint_drop
    fitted = Settings.single(
        readings.outer_drop,
        readings.rack_raise,
        case.lower_ball_joint.drop[0] if drop is None else drop,
    )
    return Sweep(one.curve.travel[kept], one.curve.toe[kept], one.noise, fitted)


def _points(
    case: Case, evaluator: Evaluator, fit: FittedPoints
) -> dict[str, tuple[float, float, float]]:
    """Most probable points, on the side of the car that the case describes. [mm]."""
    corner = moved_corner(evaluator, fit.errors[None]).row(0)
    known = corner.points | {"tie_rod_outer": corner.outer_seat, "tie_rod_inner": corner.inner}
    mirror = mirror_of(case)
    placed = {name: (known[name] * mirror).tolist() for name in fit.names}
    return {name: (x, y, z) for name, (x, y, z) in placed.items()}


def _moved(evaluator: Evaluator, fit: FittedPoints) -> list[MovedCoordinate]:
    """Coordinates that moved by more than their tape should miss, the farthest first."""
    accuracy, mirror = evaluator.case.accuracy, mirror_of(evaluator.case)
    found = []
    for name, errors in zip(fit.names, fit.errors, strict=True):
        for axis, error, sigma, sign in zip("xyz", errors, accuracy.of(name), mirror, strict=True):
            if abs(error) > MOVED_SIGMAS:
                found.append(
                    MovedCoordinate(
                        point=name, axis=axis, by_mm=error * sigma * sign, sigmas=abs(error)
                    )
                )
    return sorted(found, key=lambda coordinate: -coordinate.sigmas)


def _next(
    corrected: Evaluator, space: Space, chosen: NextStack, fitted: Settings
) -> NextSetting | None:
    if chosen.row is None:
        return None
    setting = space.settings.rows(np.array([chosen.row]))
    now = float(np.degrees(np.abs(corrected.toe_change(fitted)).max()))
    best = float(np.degrees(chosen.best_of_hardware))
    return NextSetting(
        outer_drop_mm=float(setting.outer_drop[0]),
        rack_raise_mm=float(setting.rack_raise[0]),
        ball_joint_drop_mm=float(setting.ball_joint_drop[0]),
        stack_mm=list(space.pieces(chosen.row)),
        peak_toe_change_deg=float(np.degrees(chosen.peak)),
        peak_toe_change_95_deg=float(np.degrees(chosen.peak_95)),
        best_of_hardware_deg=best,
        fitted_now_peak_deg=now,
        stop=now <= best + STOP_WITHIN_DEG,
    )


def _expected(corrected: Evaluator, space: Space, row: int, last: Swept) -> list[GaugeReading]:
    """What this gauge should show after fitting, at the heights that were read. [mm, deg]."""
    travel = np.unique(np.append(last.curve.travel, 0.0))
    setting = space.settings.rows(np.array([row]))
    toe = corrected.toe(setting, travel)[0]
    change = toe - toe[np.flatnonzero(travel == 0.0)[0]]
    scale = MM_PER[last.readings.units] if last.readings.kind != "angle" else 1.0
    shown = gauge_of(last.readings).number(change) / scale
    return [
        GaugeReading(travel_mm=height, toe_change_deg=angle, gauge=number)
        for height, angle, number in zip(travel, np.degrees(change), shown, strict=True)
    ]
