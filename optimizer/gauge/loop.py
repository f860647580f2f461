"""From readings to the next stack: the answer of `gauge`."""

from dataclasses import dataclass, replace

import numpy as np

from optimizer.car.adjust import side_of
from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.subject import subject_of
from optimizer.car.wanted import band_verdict, wanted_slope
from optimizer.errors import PivotwrightError
from optimizer.gauge.between import contradictions, lessons
from optimizer.gauge.correction import (
    POOR_FIT,
    corrected_points,
    described_next,
    doubts_of_fit,
    expected_readings,
    gauge_number,
    misfit,
    moved_coordinates,
    next_setting,
    not_toe_in_words,
    refuse_unreachable,
)
from optimizer.gauge.fit import fitted_points
from optimizer.gauge.next_stack import next_stack
from optimizer.gauge.questions import UNKNOWN_DIAMETER_MM, questions, questions_without_points
from optimizer.gauge.remedy import ARMS_PLACE, remedies
from optimizer.gauge.sides import Sides, compared, side_difference, sides_in_words
from optimizer.gauge.slips import slips
from optimizer.gauge.swept import (
    Swept,
    measured_figures,
    short_sweep,
    swept,
    swept_strokes,
)
from optimizer.limits.cautions import cautions
from optimizer.models.aim import Aim
from optimizer.models.case import Case
from optimizer.models.gauge import GaugeResult
from optimizer.models.readings import MeasuredCar, Readings
from optimizer.models.result import Side, Subject
from optimizer.options.space import Shared, space_of
from optimizer.units import Units, length_text

OTHER_SIDE: dict[Side, Side] = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class Job:
    """What `gauge` works on.

    `mine` are the sweeps of the wheel that is judged, in the order given; `theirs` those of the
    other wheel.  `evaluator` is None without a case; `shared` is what the other wheel has settled.
    """

    evaluator: Evaluator | None
    side: Side
    mine: list[Swept]
    theirs: list[Swept]
    aim: Aim
    car: MeasuredCar
    shared: Shared | None = None

    @property
    def last(self) -> Swept:
        """The sweep that is diagnosed."""
        return self.mine[-1]

    def sides(self) -> Sides | None:
        """Compare the last sweeps of both wheels; None where only one was swept."""
        if not self.theirs:
            return None
        other = OTHER_SIDE[self.side]
        return compared(self.last, self.theirs[-1], self.evaluator, self.car, other)


def gauge(
    case: Case | None, readings: list[Readings], *, seed: int = 0, shared: Shared | None = None
) -> GaugeResult:
    """Say what readings show and, with a case, what to fit next.

    Parameters
    ----------
    case : Case, optional
        The car as measured by tape, swept with the alignment set that it asks for; without it
        only the curve is judged.
    readings : list of Readings
        One or more sweeps, in the order taken.  The last one of the case's wheel is diagnosed
        (without a case, of the wheel of the first sweep); all of that wheel correct the points,
        and those of the other wheel too where both pass for mirror images.
    seed : int
        Of the random draw of cars that the readings still allow.
    shared : Shared, optional
        Rack height and ball-joint drop that the next stack must go with.

    Returns
    -------
    GaugeResult
        `next` counts from the standard seat.

    Raises
    ------
    PivotwrightError
        A sweep can't be what its file says.
    """
    alignment = None
    if case is not None:
        case, alignment = alignment_of(case)
    job = replace(_job(case, readings), shared=shared)
    sides = job.sides()
    told = _told(case, job, sides).model_copy(update={"alignment": alignment})
    return told if job.evaluator is None else _corrected(job.evaluator, job, sides, told, seed)


def _job(case: Case | None, readings: list[Readings]) -> Job:
    aims = [one.aim for one in readings if one.aim is not None]
    aim = aims[-1] if aims else Aim() if case is None else case.aim
    evaluator = None if case is None else Evaluator.of(case.model_copy(update={"aim": aim}))
    side: Side = (readings[0].side or "left") if case is None else side_of(case)
    sweeps = [swept(one, evaluator) for one in readings]
    mine = [one for one in sweeps if (one.readings.side or side) == side]
    theirs = [one for one in sweeps if (one.readings.side or side) != side]
    if theirs and evaluator is not None and evaluator.corner.on_beam:
        raise PivotwrightError(
            f"{theirs[0].readings.name}: is of the {theirs[0].readings.side} wheel, but the case "
            f"measures the {side} one; on a beam axle the two steer together, not as mirror images "
            "of each other: sweep the wheel of the case"
        )
    if not mine:
        mine, theirs = theirs, []  # a symmetric car: the other wheel is this one's mirror image
    car = mine[-1].readings.car if evaluator is None else _car_of(evaluator)
    return Job(evaluator, side, mine, theirs, aim, car)


def _car_of(evaluator: Evaluator) -> MeasuredCar:
    """Lengths for the first-order remedies, from the points."""
    corner = evaluator.corner
    return MeasuredCar(
        rod_length=float(np.hypot(*(corner.outer_seat - corner.inner)[1:])),
        steering_arm=corner.steering_arm,
        axle=evaluator.case.car.axle,
        steering=evaluator.case.steering_kind,
        arms="ahead" if corner.arms_ahead else "behind",
        tire_diameter=2.0 * evaluator.case.wheel.tire_radius,
    )


def _told(case: Case | None, job: Job, sides: Sides | None) -> GaugeResult:
    """Answer without correcting any points."""
    last, readings = job.last, job.last.readings
    subject = _subject(readings, job.side) if case is None else subject_of(case)
    used = readings.used if case is None else case.ride
    wanted = None if used is None else (used.bump, used.droop)
    strokes = swept_strokes(last, wanted)
    short = short_sweep(last, wanted)
    measured = measured_figures(last, job.aim, strokes, subject.toe_diameter_mm).model_copy(
        update={"all_used_travel_swept": not short}
    )
    diagnosis = [
        *_counted_from(job.aim),
        *remedies(measured, job.car, subject.units, strokes, job.aim.tolerance_deg),
    ]
    diagnosis += _against_band(job, subject.units)
    diagnosis += lessons(job.mine, wanted_slope(job.aim), job.car)
    if sides is not None:
        diagnosis += sides_in_words(sides, job.car)
    mistyped = _slips(job)
    return GaugeResult(
        subject=subject,
        measured=measured,
        diagnosis=diagnosis,
        questions=[*_questions(job), *mistyped, *short],
        contradictory=bool(mistyped),
        sides=None if sides is None else side_difference(sides, fitted_together=False),
        fitted_points={},
        moved=[],
        readings_noise_deg=float(np.degrees(last.noise)),
        gauge_shows=gauge_number(readings),
        next=None,
        expected=[],
        cautions=[],
    )


def _counted_from(aim: Aim) -> list[str]:
    """Say what slope, curvature and peak are counted from, where that is not zero."""
    if aim.band is not None:
        return ["All of this counts from the middle of the wanted band."]
    if aim.toe_gain_deg_per_10mm:
        gain = f"{aim.toe_gain_deg_per_10mm:+.3f} deg per 10 mm"
        return [f"All of this counts beyond the wanted gain of {gain}."]
    return []


def _against_band(job: Job, units: Units) -> list[str]:
    """Hold the readings against the wanted band, if there is one."""
    if job.aim.band is None:
        return []
    told = []
    for name, sweeps in (
        ("The curve", job.mine),
        (f"The {OTHER_SIDE[job.side]} wheel's curve", job.theirs),
    ):
        for one in sweeps[-1:]:
            kept = ~one.curve.apart
            change = np.degrees(one.curve.toe - one.curve.zero)[kept]
            travel = one.curve.travel[kept]
            verdict = band_verdict(job.aim.band, travel, change, units, "readings")
            told.append(f"{name} is {verdict.sentence}.")
    return told


def _slips(job: Job) -> list[str]:
    """What looks mistyped because the points can't explain it as it stands."""
    if job.evaluator is None:
        return []
    return [text for one in job.mine for text in slips(job.evaluator, one)]


def _questions(job: Job) -> list[str]:
    """Everything that may not be what it seems, of all sweeps, each once."""
    asked = [
        text
        for one in job.mine + job.theirs
        for text in questions(one.readings, one.curve, job.car.words)
    ]
    asked += contradictions(job.mine, job.car)
    for one in job.mine:
        if job.evaluator is None:
            asked += questions_without_points(one.readings)
            continue
        asked += not_toe_in_words(one)
        asked += _other_axle(one.readings.car, job.car)
        asked += _other_arms(one.readings.car, job.car)
        asked += _other_travel(one.readings, job.evaluator.case)
    if job.evaluator is not None and (job.mine[0].readings.side or job.side) != job.side:
        asked.append(
            f"The readings are of the {OTHER_SIDE[job.side]} wheel, the case is of the {job.side} "
            "one: they are taken for its mirror image. Is the car symmetric?"
        )
    return list(dict.fromkeys(asked))


def _other_axle(said: MeasuredCar, measured: MeasuredCar) -> list[str]:
    if said.axle is None or measured.axle is None or said.axle == measured.axle:
        return []
    return [
        f"The readings are of a {said.axle} wheel, the case is of a {measured.axle} one: do they "
        "belong together?"
    ]


def _other_arms(said: MeasuredCar, measured: MeasuredCar) -> list[str]:
    if said.arms is None or measured.arms is None or said.arms == measured.arms:
        return []
    return [
        f"The readings say that the {measured.words.arm}s are {ARMS_PLACE[said.arms]}, the points "
        f"of the case that they are {ARMS_PLACE[measured.arms]}: which is right?"
    ]


def _other_travel(readings: Readings, case: Case) -> list[str]:
    used, ride = readings.used, case.ride
    if used is None or (used.bump, used.droop) == (ride.bump, ride.droop):
        return []
    return [
        f"The readings say that the car uses {length_text(used.bump, case.units)} of bump and "
        f"{length_text(used.droop, case.units)} of droop, the case says "
        f"{length_text(ride.bump, case.units)} and {length_text(ride.droop, case.units)}: it is "
        "the case's travel that is judged."
    ]


def _subject(readings: Readings, side: Side) -> Subject:
    car = readings.car
    diameter = readings.display.diameter or car.tire_diameter or UNKNOWN_DIAMETER_MM
    return Subject(
        name=readings.name,
        layout="unknown",
        axle=car.axle or "front",
        steering_kind=None if car.axle == "rear" else car.steering or "rack",
        side=side,
        units=readings.units,
        toe_unit=readings.display.toe_unit,
        toe_diameter_mm=diameter,
    )


def _corrected(
    evaluator: Evaluator, job: Job, sides: Sides | None, told: GaugeResult, seed: int
) -> GaugeResult:
    """Add what the readings make of the case: points, next stack, readings to expect."""
    together = sides is not None and sides.agree
    sweeps = _fitted_sweeps(job, sides if together else None)
    refuse_unreachable(evaluator, sweeps)
    fit = fitted_points(evaluator, [one.sweep() for one in sweeps])
    space = space_of(evaluator.case, shared=job.shared)
    chosen = next_stack(evaluator, fit, space, job.last.fitted, seed)
    moved = moved_coordinates(evaluator, fit)
    far = any(coordinate.remeasure for coordinate in moved)
    corrected = told.model_copy(
        update={
            "questions": told.questions + doubts_of_fit(evaluator, sweeps, fit),
            "sides": None if sides is None else side_difference(sides, fitted_together=together),
            "fitted_points": corrected_points(evaluator, fit),
            "moved": moved,
            "contradictory": told.contradictory or far or misfit(fit) > POOR_FIT,
        }
    )
    if chosen is None:
        return corrected
    described = described_next(evaluator, fit, chosen)
    expected = expected_readings(evaluator, fit, chosen, job.last)
    return corrected.model_copy(
        update={
            "next": next_setting(described, chosen, job.last.fitted, job.aim.band, expected),
            "expected": expected,
            "cautions": cautions(evaluator.case, described),
        }
    )


def _fitted_sweeps(job: Job, sides: Sides | None) -> list[Swept]:
    """Sweeps that correct the points; what parts two sides is taken for noise of both."""
    if sides is None:
        return job.mine
    apart = float(np.sqrt(np.square(sides.unexplained_half).mean()))
    return [replace(one, noise=float(np.hypot(one.noise, apart))) for one in job.mine + job.theirs]
