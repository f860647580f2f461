"""What readings make of a case: corrected points, the next stack, and the readings to expect."""

from collections.abc import Sequence
from itertools import chain
from math import degrees

import numpy as np
from msgspec.structs import fields, replace

from geometry.toe_curve import toe_change
from optimizer.car.adjust import mirror_of, points_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner, sampled_toe
from optimizer.car.settings import Settings, joined_settings
from optimizer.car.tape import moved_by, tape_root
from optimizer.car.unaligned import before_alignment
from optimizer.gauging.conversions import as_read, gauge_of
from optimizer.gauging.fit import FittedPoints, corrected_car, fitted_points, left_open
from optimizer.gauging.how_sure import Followed, how_sure, setting_of
from optimizer.gauging.next_reading import next_readings
from optimizer.gauging.next_stack import NextStack, may_be_chosen, next_stack, pieces_of
from optimizer.gauging.seen import seen_toe
from optimizer.gauging.stack_doubt import other_stack
from optimizer.gauging.swept import Swept
from optimizer.gauging.told_beside_toe import told_beside_toe
from optimizer.gauging.wheel import SweptWheel
from optimizer.limits.described import described_settings
from optimizer.limits.margins import margins
from optimizer.models.answer import Fact
from optimizer.models.case import Case
from optimizer.models.gauge import (
    BeforeAlignment,
    GaugeReading,
    MovedCoordinate,
    NextSetting,
    WheelGauge,
)
from optimizer.models.hardware import LinkageChoice
from optimizer.models.how_sure import Role
from optimizer.models.questions import OtherStack, OutOfReach, PoorFit, Slip
from optimizer.models.read_beside import BesideSlip, MovedSlip
from optimizer.models.setting import Chances, Fitted, WheelSetting
from optimizer.options.space import Space, space_of
from optimizer.wording.refused_readings import refused

MOVED_SIGMAS = 3.0  # a coordinate moved by more than this asks to be measured again
WORTH_TELLING = 0.25  # standard deviations
MOST_TOLD = 4
FEWEST_REACHED = 2  # heights, to tell a toe change
POOR_FIT = 3.0  # times the noise that readings may keep from the corrected model
FITTED = set(Fitted.model_fields)
OF_LINKAGE = tuple(field.name for field in fields(LinkageChoice))


def corrected(
    wheel: SweptWheel, told: WheelGauge, by_tape: Fitted | None, seed: int, *, stages: bool
) -> tuple[WheelGauge, WheelSetting | None]:
    """Add what the readings make of the case: points, next stack, readings to expect.

    Parameters
    ----------
    wheel : SweptWheel
        With its sweeps; without a case nothing is added.
    told : WheelGauge
        What the sweeps alone tell.
    by_tape : Fitted, optional
        What the tape alone would have fitted.
    seed : int
        Of the random draw of cars that the readings still allow.
    stages : bool
        Whether to tell how sure it was by tape alone and after each stage.

    Returns
    -------
    WheelGauge, WheelSetting or None
        The answer, and the next stack in full on the corrected car, None where there is none.

    Raises
    ------
    PivotwrightError
        A sweep holds too few heights that the points of the case can reach.
    """
    tape = wheel.evaluator
    if tape is None:
        return told, None
    sweeps = _fitted_sweeps(wheel)
    lost = _out_of_reach(tape, sweeps)
    beside = {one.key for one in told.questions if isinstance(one, BesideSlip | MovedSlip)}
    seen = [one.observations(tape, without=beside) for one in sweeps]
    fit = fitted_points(tape, [*chain(*seen)])
    car, poor, moved = corrected_car(tape, fit), _poor_fit(fit), _moved_coordinates(tape, fit)
    space = space_of(tape.case, shared=wheel.shared)
    names = {one.readings.name for one in wheel.sweeps}
    slipped = any(isinstance(one, Slip) and one.sweep in names for one in told.questions)
    bare = not any(one.readings.fitted_drop for one in wheel.sweeps)  # which the eye can tell
    heights = [stack.height for stack in space.stacks]
    other = None if slipped and bare else other_stack(tape, wheel.sweeps, heights, fit)
    if other is not None:  # until that is settled, no point is to blame
        moved = [one.model_copy(update={"remeasure": False}) for one in moved]
    contradictory = (
        told.contradictory or slipped or bool(other or poor) or any(one.remeasure for one in moved)
    )
    chosen = next_stack(tape, fit, space, wheel.last.fitted, seed)
    described = readings = following = sure = None
    expected: list[GaugeReading] = []
    if chosen is not None:
        limits = margins(car, chosen.setting, follow="smallest")
        described = described_settings(car, chosen.setting, limits, [chosen.pieces])[0]
        expected = _expected_readings(tape, fit, chosen, wheel.last)
        followed = _followed(wheel, tape.case, chosen, by_tape, space)
        sure = how_sure(tape, seen, fit, followed, seed) if stages else None
        rivals = may_be_chosen(car, space)
        now = sure.stages[-1].chances if sure else followed.chances(car, fit, rivals, seed)
        following = _next(wheel, chosen, described, now[0])
        if not contradictory:  # or what is possible is not known
            readings = next_readings(
                tape,
                fit,
                others=joined_settings([rivals, wheel.last.fitted]),
                chosen=chosen.setting,
                now=wheel.last.fitted,
                noise=wheel.last.noise,
                heights=np.unique(wheel.last.curve.travel),
                mirrored=wheel.shared is None,
                seed=seed,
            )
    changes = {
        "next_readings": readings,
        "how_sure": sure,
        "questions": [*_news(other, told), *told.questions, *lost, *poor],
        "contradictory": contradictory,
        "read_beside": [x for one in wheel.sweeps for x in told_beside_toe(tape, fit, one)],
        "fitted_points": points_of(tape.case, car.corner),
        "before_alignment": _before_alignment(wheel, car),
        "covariance_root": {} if contradictory else left_open(tape, fit),
        "moved": moved,
        "next": following,
        "expected": expected,
    }
    return told.model_copy(update=changes), described


def _news(other: OtherStack | Slip | None, told: WheelGauge) -> list[Fact]:
    """What was found, but for a slip of a sweep that is asked about already."""
    asked = {one.sweep for one in told.questions if isinstance(one, Slip)}
    known = isinstance(other, Slip) and other.sweep in asked
    return [] if other is None or known else [other]


def _followed(
    wheel: SweptWheel, case: Case, chosen: NextStack, by_tape: Fitted | None, space: Space
) -> Followed:
    """What is told of by tape alone and after what was read."""
    now = wheel.last.fitted
    named: list[tuple[Role, Settings, tuple[float, ...]]] = [
        ("next", chosen.setting, chosen.pieces),
        ("now", now, pieces_of(space, now)),
    ]
    first = None if by_tape is None else setting_of(case, by_tape)
    if by_tape is not None and first is not None:
        named.append(("by-tape", first, tuple(by_tape.stack_mm)))
    return Followed.of(named, space, wheel.place)


def _fitted_sweeps(wheel: SweptWheel) -> list[Swept]:
    """Sweeps that correct the points; what parts two sides is taken for noise of both."""
    sides = wheel.sides
    if sides is None or not sides.agree:
        return wheel.sweeps
    apart = float(np.sqrt(np.square(sides.unexplained_half).mean()))
    both = wheel.sweeps + wheel.others
    return [replace(one, noise=float(np.hypot(one.noise, apart))) for one in both]


def _out_of_reach(tape: Evaluator, sweeps: Sequence[Swept]) -> list[Fact]:
    """Heights that were read, but that the points of the case can't reach.

    Raises
    ------
    PivotwrightError
        So few of a sweep are left that nothing it says could correct a point.
    """
    found: list[Fact] = []
    for one in sweeps:
        travel = one.curve.travel
        reached = np.isfinite(tape.toe(one.fitted, travel)[0])
        if np.unique(travel[reached]).size < FEWEST_REACHED:
            raise refused(one.readings, "out-of-reach")
        if not reached.all():
            lost = tuple(np.unique(travel[~reached]).tolist())
            found.append(
                OutOfReach(sweep=one.readings.name, units=one.readings.units, travel_mm=lost)
            )
    return found


def _poor_fit(fit: FittedPoints) -> list[PoorFit]:
    """What the corrected model misses of the readings, where that is more than their noise."""
    times = float(np.sqrt(np.square(fit.residuals).mean()))
    return [PoorFit(times=times)] if times > POOR_FIT else []


def _moved_coordinates(tape: Evaluator, fit: FittedPoints) -> list[MovedCoordinate]:
    """Coordinates that the readings moved most, the farthest first."""
    mirror = mirror_of(tape.case)
    by, sigmas = moved_by(tape_root(tape.case, tape.corner), fit.errors.ravel())
    found = [
        MovedCoordinate(
            point=fit.names[k // 3],
            axis="xyz"[k % 3],
            by_mm=by[k] * mirror[k % 3],
            sigmas=sigmas[k],
            remeasure=bool(sigmas[k] > MOVED_SIGMAS),
        )
        for k in np.flatnonzero(sigmas > WORTH_TELLING)
    ]
    return sorted(found, key=lambda coordinate: -coordinate.sigmas)[:MOST_TOLD]


def _before_alignment(wheel: SweptWheel, car: Evaluator) -> BeforeAlignment | None:
    if wheel.measured is None or wheel.alignment is None:
        return None
    return before_alignment(wheel.measured, wheel.alignment, car.corner)


def _next(
    wheel: SweptWheel,
    chosen: NextStack,
    described: WheelSetting,
    chances: Chances | None,
) -> NextSetting:
    """Answer for the chosen stack."""
    band = described.band
    now, tolerance = wheel.last.readings, wheel.aim.tolerance_deg
    assert wheel.evaluator is not None
    before = wheel.evaluator.case.linkage_choices[wheel.last.fitted.linkage[0]]
    best = degrees(chosen.best_of_hardware)
    return NextSetting(
        **described.model_dump(include=FITTED),
        linkage_changes=bool(chosen.setting.linkage[0] != wheel.last.fitted.linkage[0]),
        outer_drop_change_mm=described.outer_drop_mm - now.fitted_drop,
        rack_raise_change_mm=described.rack_raise_mm - now.fitted_raise,
        rack_fore_aft_change_mm=described.rack_fore_aft_mm - (now.rack_fore_aft or 0.0),
        **{
            f"{name}_change_mm": getattr(described, f"{name}_mm") - getattr(before, name)
            for name in OF_LINKAGE
        },
        tolerance_deg=tolerance,
        misses_by_deg=best - tolerance if band is None and best > tolerance else None,
        peak_toe_change_deg=degrees(chosen.peak),
        peak_toe_change_95_deg=degrees(chosen.peak_95),
        best_of_hardware_deg=best,
        fitted_now_peak_deg=degrees(chosen.fitted_now) if np.isfinite(chosen.fitted_now) else None,
        stop=chosen.stop,
        within_band=None if band is None else band.within,
        tightest_joint=described.tightest_joint,
        tightest_gap=described.tightest_gap,
        chances=chances,
    )


def _expected_readings(
    tape: Evaluator, fit: FittedPoints, chosen: NextStack, last: Swept
) -> list[GaugeReading]:
    """What this gauge should show after fitting, at the heights that were read. [mm, deg].

    Heights that the corrected car can't reach are left out.
    """
    travel = np.unique(np.append(np.round(last.curve.travel, 6), 0.0))
    corner = moved_corner(tape, fit.errors[None])
    gauge = gauge_of(last.readings)
    toe = sampled_toe(tape, corner, chosen.setting, travel)[0]
    seen = seen_toe(gauge, tape, corner, chosen.setting, travel)[0]
    shown = as_read(last.readings, gauge.number(toe_change(travel, seen)))
    change = np.degrees(toe_change(travel, toe))
    return [
        GaugeReading(travel_mm=height, toe_change_deg=angle, gauge=number)
        for height, angle, number in zip(travel, change, shown, strict=True)
        if np.isfinite(angle) and np.isfinite(number)
    ]
