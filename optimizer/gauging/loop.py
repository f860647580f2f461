"""From readings to the next stack: the answer of `gauge`.

A rack serves both wheels, so where both are measured it stays where it is and each wheel is given a
stack for it.  What another rack height would bring, `suggest` weighs on the corrected case.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np

from optimizer.car.linkage import LISTED
from optimizer.car.plausibility import refuse_impossible
from optimizer.car.subject import subject_of
from optimizer.errors import PivotwrightError
from optimizer.gauging.beside_toe import unreached_beside
from optimizer.gauging.between import SAME_MM
from optimizer.gauging.conversions import gauge_number, wheel_travel
from optimizer.gauging.correction import corrected
from optimizer.gauging.diagnosis import diagnosis
from optimizer.gauging.doubts import doubts
from optimizer.gauging.how_sure import first_by_tape
from optimizer.gauging.questions import UNKNOWN_DIAMETER_MM
from optimizer.gauging.sides import compared, side_difference
from optimizer.gauging.slips import sides_exchanged, slips
from optimizer.gauging.slips_beside_toe import slips_beside_toe
from optimizer.gauging.swept import converted_rows, measured_figures, short_strokes, swept_strokes
from optimizer.gauging.wheel import SweptWheel, swept_wheels
from optimizer.gauging.without_points import Remedied, remedied
from optimizer.limits.cautions import cautions, cautions_without_points
from optimizer.models.aim import Aim
from optimizer.models.answer import Fact
from optimizer.models.cautions import Caution
from optimizer.models.gauge import ConvertedRow, GaugeResult, SideDifference, SweptWith, WheelGauge
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.questions import (
    MISTYPED,
    OtherRack,
    PlayFelt,
    Question,
    SidesExchanged,
    Slip,
)
from optimizer.models.readings import Readings
from optimizer.models.remedies import HeightError, LengthError
from optimizer.models.setting import WheelSetting
from optimizer.models.stacks import stack_of_height
from optimizer.models.subject import Subject
from optimizer.models.vehicle import Vehicle


def gauge(
    vehicle: Vehicle | None,
    readings: Sequence[Readings],
    *,
    seed: int = 0,
    lowered_by: float = 0.0,
    stages: bool = False,
) -> GaugeResult:
    """Say what readings show and, with a case, what to fit next.

    Parameters
    ----------
    vehicle : Vehicle, optional
        The car as measured by tape, swept with the alignment set that it asks for; without it
        only the curve is judged.
    readings : sequence of Readings
        One or more sweeps, in the order taken, of one wheel or of both.  The last one of each
        measured wheel is diagnosed (without a case, of the wheel of the first sweep); all of that
        wheel correct its points, and those of a wheel that is not measured too where both pass for
        mirror images.  The last one of all says what both measured wheels share.
    seed : int
        Of the random draw of cars that the readings still allow.
    lowered_by : float
        Judge the car so much lower than it was swept at, without a case; with one, its own ride
        height is judged. [mm]
    stages : bool
        Whether to tell how sure the choice was by tape alone and after each stage of the reading,
        which takes about as long as the rest.

    Returns
    -------
    GaugeResult
        `next` counts from the standard seat.

    Raises
    ------
    PivotwrightError
        The car can't be assembled; a sweep can't be what its file says, or does not say of which
        measured wheel it is; there is none, or a number is none that can be used.
    """
    if seed < 0 or not np.isfinite(lowered_by):
        raise PivotwrightError(
            f"seed must be 0 or more and lowered_by a number, got {seed} and {lowered_by}"
        )
    if vehicle is not None:
        refuse_impossible(vehicle)
    readings = [one.lowered(lowered_by) for one in readings] if lowered_by else readings
    swept = swept_wheels(vehicle, readings)
    subject = _subject(swept) if vehicle is None else subject_of(vehicle)
    told = first_by_tape(vehicle) if stages and vehicle is not None else []
    by_tape = {one.side: one for one in told}
    found = [
        corrected(one, _told(one, subject, readings), by_tape.get(one.side), seed, stages=stages)
        for one in swept
    ]
    settings = [setting for _, setting in found if setting is not None]
    wheels, exchanged = [wheel for wheel, _ in found], _exchanged(swept)
    if exchanged:  # which explains what else would ask for a slip of the gauge
        wheels = [_without_slips(wheel) for wheel in wheels]
    return GaugeResult(
        subject=subject,
        swept=[_swept_with(one, vehicle, lowered_by) for one in readings],
        wheels=wheels,
        sides=_difference(swept),
        questions=[*exchanged, *_other_rack(swept, readings[-1])],
        cautions=cautions(settings, subject.linkage_now)
        if settings
        else _cautions_without_points(swept, found),
    )


def _cautions_without_points(
    swept: Sequence[SweptWheel], found: Sequence[tuple[WheelGauge, WheelSetting | None]]
) -> list[Caution]:
    """What changing a part calls for, where a remedy is told of a car without points."""
    if any(wheel.evaluator is not None for wheel in swept):
        return []
    told = [fact for wheel, _ in found for fact in wheel.diagnosis]
    height = any(isinstance(fact, HeightError) for fact in told)
    if not height and not any(isinstance(fact, LengthError) for fact in told):
        return []
    return cautions_without_points(stack=height, raised=height)


def _subject(swept: Sequence[SweptWheel]) -> Subject:
    """What is known of a car without points, from the first sweep that is diagnosed."""
    readings, car = swept[0].last.readings, swept[0].car
    return Subject(
        name=readings.name,
        layout="unknown",
        axle=car.axle or "front",
        steering_kind=None if car.axle == "rear" else car.steering or "rack",
        sides=[wheel.side for wheel in swept],
        units=readings.units,
        toe_unit=readings.display.toe_unit,
        toe_diameter_mm=readings.display.diameter or car.tire_diameter or UNKNOWN_DIAMETER_MM,
        dialect=readings.display.words,
    )


def _swept_with(readings: Readings, vehicle: Vehicle | None, lowered_by: float) -> SweptWith:
    """What was fitted in a sweep, and how far it went."""
    travel = wheel_travel(readings)
    return SweptWith(
        sweep=readings.name,
        side=readings.side,
        units=readings.units,
        gauge_shows=gauge_number(readings),
        rows=travel.size,
        lowest_mm=travel.min(),
        highest_mm=travel.max(),
        judged_lower_mm=lowered_by,
        outer_drop_mm=readings.outer_drop,
        stack_mm=[] if vehicle is None else _pieces(readings, vehicle),
        rack_raise_mm=readings.rack_raise,
        rack_fore_aft_mm=readings.rack_fore_aft,
        **{f"{part}_mm": getattr(readings, part) for part in LISTED},
    )


def _pieces(readings: Readings, vehicle: Vehicle) -> list[float]:
    """Pieces of the stack that was fitted, as the wheel's own hardware would build it. [mm]."""
    case = next((one for one in vehicle.wheels if one.side == readings.side), vehicle.case)
    stack = stack_of_height(case, readings.fitted_drop)
    return [] if stack is None else [*stack.pieces]


def _difference(swept: Sequence[SweptWheel]) -> SideDifference | None:
    """Both wheels beside each other, as they were read; None where only one was swept."""
    if len(swept) > 1 and swept[0].evaluator is not None:
        left, right = (wheel.last for wheel in swept)
        return side_difference(compared(left, right, None, MeasuredCar(), "right"))
    sides = swept[0].sides
    together = sides is not None and sides.agree and swept[0].evaluator is not None
    return None if sides is None else side_difference(sides, fitted_together=together)


def _exchanged(swept: Sequence[SweptWheel]) -> list[SidesExchanged]:
    """Ask where the sweeps of both wheels of a case have each other's side."""
    known = [(wheel.evaluator, wheel.sweeps) for wheel in swept if wheel.evaluator is not None]
    if len(known) == 2 and sides_exchanged(known[0], known[1]):
        return [SidesExchanged()]
    return []


def _mistyped(wheel: SweptWheel, asked: Iterable[Fact]) -> bool:
    """Whether rows that were swept of this very wheel are hardly as the gauge showed them."""
    sweeps = {None, *(one.readings.name for one in wheel.sweeps)}
    return any(
        isinstance(one, Question) and one.kind in MISTYPED and one.sweep in sweeps for one in asked
    )


def _without_slips(wheel: WheelGauge) -> WheelGauge:
    questions = [one for one in wheel.questions if not isinstance(one, Slip)]
    unsure: dict[str, Any] = {
        "contradictory": True,
        "next_readings": None,
        "covariance_root": {},
    }
    return wheel.model_copy(update={"questions": questions, **unsure})


def _other_rack(swept: Sequence[SweptWheel], last: Readings) -> Iterator[OtherRack]:
    """Ask where the last sweeps of both wheels have what they share at two heights."""
    heights = [wheel.last.readings.fitted_raise for wheel in swept]
    if swept[0].shared is not None and max(heights) - min(heights) > SAME_MM:
        yield OtherRack(left_mm=heights[0], right_mm=heights[-1], taken_mm=last.fitted_raise)


def _told(wheel: SweptWheel, subject: Subject, given: Sequence[Readings]) -> WheelGauge:
    """Answer without correcting any points."""
    last, readings, points = wheel.last, wheel.last.readings, wheel.evaluator
    used = readings.used if points is None else points.case.ride
    wanted = None if used is None else (used.bump, used.droop)
    strokes, short = swept_strokes(last, wanted), short_strokes(last, wanted)
    measured, seen = (
        measured_figures(last, aim, strokes, subject.toe_diameter_mm) for aim in (wheel.aim, Aim())
    )
    measured = measured.model_copy(update={"all_used_travel_swept": not short})
    mistyped: list[Fact] = []
    elsewhere: list[Fact] = []  # of the other wheel, which corrects no point unless both agree
    if points is not None:
        for one in wheel.sweeps:
            alone = len(wheel.sweeps) == 1
            mistyped += [*slips(points, one, alone=alone), *slips_beside_toe(points, one)]
        for one in wheel.others:
            elsewhere += slips(points, one, alone=len(wheel.others) == 1)
    every = [*wheel.sweeps, *wheel.others]
    lost = [x for one in every for x in unreached_beside(one.readings, one.reached)]
    asked = dict.fromkeys(doubts(wheel))
    found = diagnosis(wheel, measured, seen, strokes)
    then = remedied(last, measured, found) if points is None else Remedied([], [])
    loose = any(isinstance(fact, PlayFelt) and fact.kind == "meaningless" for fact in asked)
    return WheelGauge(
        side=wheel.side,
        alignment=wheel.alignment,
        measured=measured,
        converted=_converted(wheel, given),
        diagnosis=[*found, *then.from_shelf],
        questions=[*asked, *lost, *mistyped, *elsewhere, *short],
        contradictory=bool(mistyped or loose or _mistyped(wheel, asked)),
        fitted_points={},
        moved=[],
        readings_noise_deg=float(np.degrees(last.noise)),
        gauge_shows=gauge_number(readings),
        next=None,
        expected=then.expected,
    )


def _converted(wheel: SweptWheel, given: Sequence[Readings]) -> list[ConvertedRow]:
    """Rows of all sweeps in the order given; without points the other wheel tells its own."""
    told = wheel.sweeps if wheel.evaluator is None else [*wheel.sweeps, *wheel.others]
    return [
        row
        for place, readings in enumerate(given, start=1)
        for one in told
        if one.readings is readings
        for row in converted_rows(one, place)
    ]
