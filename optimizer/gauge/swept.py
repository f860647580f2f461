"""One readings file as a curve: what was read, how finely, and the figures that it makes."""

from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator, scored_travel
from optimizer.car.wanted import wanted_change, wanted_curvature, wanted_slope
from optimizer.errors import PivotwrightError
from optimizer.gauge.conversions import gauge_of, reading_noise, toe_readings, wheel_travel
from optimizer.gauge.measured import SAME_HEIGHT_MM, MeasuredCurve, measured_curve
from optimizer.gauge.seen import contamination
from optimizer.gauge.sweep import Sweep
from optimizer.models.aim import Aim
from optimizer.models.case import Case
from optimizer.models.gauge import Measured
from optimizer.models.points import BeamAxlePoints
from optimizer.models.readings import Readings
from optimizer.units import length_text

LEAST_NOISE = float(np.radians(0.002))  # no gauge of this kind reads finer
USUAL_NOISE = float(np.radians(0.01))  # where there are too few rows to tell; common practice
FEWEST_TO_TELL = 3  # rows more than the curve has unknowns
HALF_TURN = float(np.pi)  # no toe changes by more, whatever was typed for what
SHORT_SWEEP = 0.95  # of the used travel
BRACKETS = ("frame_bracket_raise", "axle_bracket_raise")
SAME_BRACKET_MM = 1e-3


@dataclass(frozen=True)
class Swept:
    """One readings file and the curve that it makes.

    `seen` (N,) is toe as the gauge sees it; the curve is of toe alone where the model can tell
    what else the gauge saw, `not_toe` (N,).  `fitted` is a batch of one; `linkage` what was fitted
    to the linkage itself, the same for two sweeps where it was the same.  [rad]
    """

    readings: Readings
    linkage: tuple[float, ...]
    fitted: Settings
    seen: Array
    not_toe: Array
    curve: MeasuredCurve
    noise: float

    @property
    def height(self) -> float:
        """Outer drop and rack raise together: what counts for the slope. [mm]."""
        return self.readings.outer_drop + self.readings.rack_raise

    def sweep(self) -> Sweep:
        """Take what the points are fitted to: every row that does not stand apart."""
        kept = ~self.curve.apart
        gauge = gauge_of(self.readings)
        return Sweep(self.curve.travel[kept], self.seen[kept], self.noise, self.fitted, gauge)


def swept(readings: Readings, evaluator: Evaluator | None) -> Swept:
    """Turn a readings file into a curve, its noise as given or as its scatter shows.

    Raises
    ------
    PivotwrightError
        All rows are far from ride height, or one shows a distance that is longer than the gauge
        or a toe change of more than half a turn.
    """
    travel, seen = wheel_travel(readings), toe_readings(readings)
    if float(np.abs(travel).min()) > float(np.ptp(travel)):
        nearest = length_text(travel[np.argmin(np.abs(travel))], readings.units)
        raise PivotwrightError(
            f"{readings.name}: the reading nearest to ride height is at travel {nearest}, too far "
            "to tell toe there; is at_ride_height right?"
        )
    beyond = np.flatnonzero(np.isnan(seen))
    if beyond.size:
        raise PivotwrightError(
            f"{readings.name}: readings[{beyond[0] + 1}] shows a toe distance longer than the "
            "gauge itself; are units and spacing right?"
        )
    far = np.flatnonzero(np.abs(seen - seen[np.argmin(np.abs(travel))]) > HALF_TURN)
    if far.size:
        raise PivotwrightError(
            f"{readings.name}: readings[{far[0] + 1}] shows a toe change of more than half a turn; "
            "are angle_unit and its sign right?"
        )
    linkage = _linkage(readings, evaluator)
    fitted = Settings.single(readings.outer_drop, readings.rack_raise, linkage[0])
    not_toe = np.zeros(travel.size)
    gauge = gauge_of(readings)
    if evaluator is not None and gauge.fixed is not None:
        not_toe = np.nan_to_num(contamination(gauge, evaluator, fitted, travel))
    curve = measured_curve(travel, seen - not_toe)
    return Swept(readings, linkage, fitted, seen, not_toe, curve, _noise(readings, curve))


def _noise(readings: Readings, curve: MeasuredCurve) -> float:
    """One standard deviation of a toe reading, half of any play taken for noise too. [rad]."""
    play = 0.0 if np.isnan(curve.play) else 0.5 * abs(curve.play)
    stated = reading_noise(readings)
    if stated is not None:
        return float(np.hypot(max(stated, LEAST_NOISE), play))
    least = LEAST_NOISE if curve.freedom >= FEWEST_TO_TELL else USUAL_NOISE
    return float(np.hypot(max(curve.scatter, least), play))


def _linkage(readings: Readings, evaluator: Evaluator | None) -> tuple[float, ...]:
    """The case's choice of the linkage; without a case, the heights as typed. [mm]."""
    if evaluator is not None:
        return (_fitted_linkage(readings, evaluator.case),)
    return tuple(getattr(readings, key) or 0.0 for key in ("ball_joint_drop", *BRACKETS))


def _fitted_linkage(readings: Readings, case: Case) -> float:
    """What was fitted of `Case.linkage_choices`; what the car has where the readings say nothing.

    Raises
    ------
    PivotwrightError
        The readings name a part that the case's suspension has not, or brackets that it does not
        list.
    """
    on_beam = isinstance(case.points, BeamAxlePoints)
    for key in ("ball_joint_drop",) if on_beam else BRACKETS:
        if getattr(readings, key) is not None:
            raise PivotwrightError(
                f"{readings.name}: {key} must be left out; the case's layout, {case.layout}, has "
                "no such part"
            )
    if not on_beam:
        drop = readings.ball_joint_drop
        return case.linkage_choices[0] if drop is None else drop
    typed = [getattr(readings, key) for key in BRACKETS]
    pairs = case.lateral_link.pairs
    pair = [now if x is None else x for x, now in zip(typed, pairs[0], strict=True)]
    for choice, listed in enumerate(pairs):
        if np.allclose(listed, pair, atol=SAME_BRACKET_MM):
            return float(choice)
    frame, axle = (length_text(x, readings.units) for x in pair)
    raise PivotwrightError(
        f"{readings.name}: frame_bracket_raise {frame} with axle_bracket_raise {axle} is none of "
        "what the case's [lateral_link] lists; add what was fitted there"
    )


def swept_strokes(one: Swept, wanted: tuple[float, float] | None) -> tuple[float, float]:
    """Bump and droop to judge: what is wanted as far as it was swept, or all of it. [mm].

    Raises
    ------
    PivotwrightError
        Nothing of the wanted travel was swept.
    """
    travel = one.curve.travel
    bump, droop = max(float(travel.max()), 0.0), max(-float(travel.min()), 0.0)
    if wanted is not None:
        used = (travel <= wanted[0] + SAME_HEIGHT_MM) & (travel >= -wanted[1] - SAME_HEIGHT_MM)
        bump, droop = (min(wanted[0], bump), min(wanted[1], droop)) if used.any() else (0.0, 0.0)
    if bump == 0.0 and droop == 0.0:
        raise PivotwrightError(
            f"{one.readings.name}: no reading lies in the travel that the car uses; are the sign "
            "of travel and at_ride_height right?"
        )
    return bump, droop


def short_sweep(one: Swept, wanted: tuple[float, float] | None) -> list[str]:
    """Say where the used travel was not swept: no curve is drawn out beyond its readings."""
    if wanted is None:
        return []
    reach = swept_strokes(one, wanted)
    units = one.readings.units
    return [
        f"The car uses {length_text(use, units)} of {name}, but only {length_text(had, units)} of "
        "it was swept; the rest is not judged. Sweep on, if the joints allow it."
        for name, use, had in zip(("bump", "droop"), wanted, reach, strict=True)
        if had < SHORT_SWEEP * use
    ]


def measured_figures(
    one: Swept, aim: Aim, strokes: tuple[float, float], diameter_mm: float
) -> Measured:
    """Figures of the curve over the judged strokes, beyond what is wanted."""
    curve = one.curve
    travel = scored_travel(*strokes)
    change = curve.at(travel) - wanted_change(aim, travel)
    moved = travel != 0.0
    bend = float(curve.coefficients[1]) - wanted_curvature(aim, travel)
    slope = float(curve.coefficients[0]) - wanted_slope(aim)
    return Measured(
        travel_mm=curve.travel.tolist(),
        toe_deg=np.degrees(curve.toe).tolist(),
        toe_slope_deg_per_10mm=float(np.degrees(slope)) * 10.0,
        toe_slope_in_per_in=slope * diameter_mm,
        toe_rate_in_per_in=float(np.abs(change[moved] / travel[moved]).max()) * diameter_mm,
        toe_curvature_deg=float(np.degrees(bend)) * max(strokes) ** 2,
        peak_toe_change_deg=float(np.degrees(np.abs(change).max())),
        scatter_deg=float(np.degrees(curve.scatter)),
        play_deg=None if np.isnan(curve.play) else float(np.degrees(curve.play)),
        rows_left_out=[int(place) + 1 for place in np.flatnonzero(curve.apart)],
    )
