"""What readings make of a case: corrected points, the next stack, and the readings to expect."""

import numpy as np

from geometry.toe_curve import toe_change
from geometry.vectors import Array
from optimizer.car.adjust import Settings, mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner, sampled_toe
from optimizer.car.wanted import keeps_band
from optimizer.errors import PivotwrightError
from optimizer.gauge.conversions import as_read, gauge_of
from optimizer.gauge.fit import FittedPoints
from optimizer.gauge.next_stack import NextStack
from optimizer.gauge.seen import seen_toe
from optimizer.gauge.swept import Swept
from optimizer.limits.described import described_settings
from optimizer.limits.margins import margins
from optimizer.models.aim import Band
from optimizer.models.gauge import GaugeNumber, GaugeReading, MovedCoordinate, NextSetting
from optimizer.models.readings import Readings
from optimizer.models.setting import Setting
from optimizer.units import length_text

MOVED_SIGMAS = 3.0  # a coordinate moved by more than this asks to be measured again
WORTH_TELLING = 0.25  # standard deviations
MOST_TOLD = 4
FEWEST_REACHED = 2  # heights, to tell a toe change
POOR_FIT = 3.0  # times the noise that readings may keep from the corrected model


def corrected_points(
    evaluator: Evaluator, fit: FittedPoints
) -> dict[str, tuple[float, float, float]]:
    """Most probable points, on the side of the car that the case describes. [mm]."""
    corner = moved_corner(evaluator, fit.errors[None]).row(0)
    known = corner.measured
    mirror = mirror_of(evaluator.case)
    placed = {name: (known[name] * mirror).tolist() for name in fit.names}
    return {name: (x, y, z) for name, (x, y, z) in placed.items()}


def moved_coordinates(evaluator: Evaluator, fit: FittedPoints) -> list[MovedCoordinate]:
    """Coordinates that the readings moved most, the farthest first."""
    accuracy, mirror = evaluator.case.accuracy, mirror_of(evaluator.case)
    found = [
        MovedCoordinate(
            point=name,
            axis=axis,
            by_mm=error * sigma * sign,
            sigmas=abs(error),
            remeasure=bool(abs(error) > MOVED_SIGMAS),
        )
        for name, errors in zip(fit.names, fit.errors, strict=True)
        for axis, error, sigma, sign in zip("xyz", errors, accuracy.of(name), mirror, strict=True)
        if abs(error) > WORTH_TELLING
    ]
    return sorted(found, key=lambda coordinate: -coordinate.sigmas)[:MOST_TOLD]


def refuse_unreachable(evaluator: Evaluator, sweeps: list[Swept]) -> None:
    """Stop where a sweep holds too few heights that the points of the case can reach.

    Raises
    ------
    PivotwrightError
        Names the sweep; nothing it says could correct a point.
    """
    for one in sweeps:
        reached = np.isfinite(evaluator.toe(one.fitted, one.curve.travel)[0])
        if np.unique(one.curve.travel[reached]).size < FEWEST_REACHED:
            raise PivotwrightError(
                f"{one.readings.name}: with what was fitted, the points of the case reach none of "
                "the heights that were read, or hardly one; is the sweep of this car, are "
                "at_ride_height, outer_drop and ball_joint_drop right?"
            )


def misfit(fit: FittedPoints) -> float:
    """What the corrected model misses of the readings, in units of their noise."""
    return float(np.sqrt(np.square(fit.residuals).mean()))


def doubts_of_fit(evaluator: Evaluator, sweeps: list[Swept], fit: FittedPoints) -> list[str]:
    """Say what the corrected model can't follow."""
    told = []
    for one in sweeps:
        travel = one.curve.travel
        lost = travel[np.isnan(evaluator.toe(one.fitted, travel)[0])]
        if lost.size:
            heights = ", ".join(length_text(x, one.readings.units) for x in np.unique(lost))
            told.append(
                f'"{one.readings.name}": the points of the case can\'t reach travel {heights}, '
                "so those rows don't correct them: is the sweep of this car, with this ride "
                "height?"
            )
    left = misfit(fit)
    if left > POOR_FIT:
        told.append(
            f"Even with its points moved, the model misses the readings by {left:.1f} times their "
            "noise: something bends, binds or is not as the case says."
        )
    return told


def next_setting(
    described: Setting,
    chosen: NextStack,
    now: Settings,
    band: Band | None,
    expected: list[GaugeReading],
) -> NextSetting:
    """Answer for the chosen stack; `now` is what was fitted while measuring."""
    travel = np.array([row.travel_mm for row in expected])
    change = np.array([row.toe_change_deg for row in expected])
    other = chosen.setting.ball_joint_drop[0] != now.ball_joint_drop[0]
    return NextSetting(
        outer_drop_mm=described.outer_drop_mm,
        rack_raise_mm=described.rack_raise_mm,
        ball_joint_drop_mm=described.ball_joint_drop_mm,
        frame_bracket_raise_mm=described.frame_bracket_raise_mm,
        axle_bracket_raise_mm=described.axle_bracket_raise_mm,
        linkage_changes=bool(other),
        stack_mm=described.stack_mm,
        peak_toe_change_deg=_degrees(chosen.peak),
        peak_toe_change_95_deg=_degrees(chosen.peak_95),
        best_of_hardware_deg=_degrees(chosen.best_of_hardware),
        fitted_now_peak_deg=_degrees(chosen.fitted_now) if np.isfinite(chosen.fitted_now) else None,
        stop=chosen.stop,
        within_band=None if band is None else keeps_band(band, travel, change),
        tightest_joint=described.tightest_joint,
        tightest_gap=described.tightest_gap,
    )


def expected_readings(
    evaluator: Evaluator, fit: FittedPoints, chosen: NextStack, last: Swept
) -> list[GaugeReading]:
    """What this gauge should show after fitting, at the heights that were read. [mm, deg].

    Heights that the corrected car can't reach are left out.
    """
    travel = np.unique(np.append(np.round(last.curve.travel, 6), 0.0))
    corner = moved_corner(evaluator, fit.errors[None])
    gauge = gauge_of(last.readings)
    toe = sampled_toe(evaluator, corner, chosen.setting, travel)[0]
    seen = seen_toe(gauge, evaluator, corner, chosen.setting, travel)[0]
    shown = as_read(last.readings, gauge.number(toe_change(travel, seen)))
    change = np.degrees(toe_change(travel, toe))
    return [
        GaugeReading(travel_mm=height, toe_change_deg=angle, gauge=number)
        for height, angle, number in zip(travel, change, shown, strict=True)
        if np.isfinite(angle) and np.isfinite(number)
    ]


def described_next(evaluator: Evaluator, fit: FittedPoints, chosen: NextStack) -> Setting:
    """Describe the chosen stack on the corrected car, its limits too."""
    corrected = evaluator.with_corner(moved_corner(evaluator, fit.errors[None]).row(0))
    limits = margins(corrected, chosen.setting, follow="smallest")
    return described_settings(corrected, chosen.setting, limits, [chosen.pieces])[0]


def gauge_number(readings: Readings) -> GaugeNumber:
    """Name the number that tells toe, and the unit in which the file writes it."""
    name = gauge_of(readings).name
    if readings.kind == "angle":
        return GaugeNumber(name=name, unit=readings.angle_unit)
    return GaugeNumber(name=name, unit=readings.units)


def not_toe_in_words(one: Swept) -> list[str]:
    """Say how much of what a fixed gauge shows is no toe, where the model could tell."""
    if not one.not_toe.any():
        return []
    worst = int(np.argmax(np.abs(one.not_toe)))
    shown = one.seen - one.seen[np.argmin(np.abs(one.curve.travel))]
    height = length_text(one.curve.travel[worst], one.readings.units)
    return [
        f"At travel {height} this gauge shows {_degrees(shown[worst]):+.3f} "
        f"deg, of which {_degrees(one.not_toe[worst]):+.3f} deg is no toe, by the case's points, "
        "but the wheel moving sideways and changing camber. That is taken off here, as well as "
        "the points are known; two dials need no such correction."
    ]


def _degrees(angle: float | Array) -> float:
    return float(np.degrees(angle))
