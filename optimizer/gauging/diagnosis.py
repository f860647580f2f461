"""What the sweeps of a wheel say is wrong with it."""

from collections.abc import Iterator

import numpy as np

from optimizer.car.diagnosis import DRIFT_MM, pivot_effects, static_drift
from optimizer.car.wanted import band_verdict, wanted_slope
from optimizer.gauging.between import lessons
from optimizer.gauging.measured import SAME_HEIGHT_MM
from optimizer.gauging.remedy import KnownBy, remedies
from optimizer.gauging.sides import side_findings
from optimizer.gauging.swept import Swept
from optimizer.gauging.wheel import OTHER_SIDE, SweptWheel
from optimizer.models.aim import Aim
from optimizer.models.answer import Fact
from optimizer.models.diagnosis import StaticDrift
from optimizer.models.gauge import Measured
from optimizer.models.remedies import BetweenHeights, CountedFrom, HeldAgainstBand
from optimizer.wording.refused_readings import refused


def diagnosis(
    wheel: SweptWheel, measured: Measured, seen: Measured, strokes_mm: tuple[float, float]
) -> list[Fact]:
    """What is wrong, what cures it, and what other stacks and the other wheel tell.

    `measured` are the figures of the last sweep over the strokes that are judged, beyond what is
    wanted, `seen` those of its curve itself.
    """
    aim, car, sides = wheel.aim, wheel.car, wheel.sides
    learned = list(lessons(wheel.sweeps, wanted_slope(aim), car))
    by: KnownBy = "lengths" if wheel.evaluator is None else "points"
    if wheel.evaluator is not None and wheel.evaluator.corner.on_beam:
        by = pivot_effects(wheel.evaluator)
    if by == "lengths" and learned:
        by = learned[-1]
        car = car.model_copy(update={"arms": car.arms or learned[-1].arms})
    return [
        *_counted_from(aim),
        *remedies(measured, seen, car, strokes_mm, aim.tolerance_deg, by),
        *_drift(wheel.last, aim.tolerance_deg),
        *_against_band(wheel),
        *_between_heights(wheel.last),
        *learned,
        *(() if sides is None else side_findings(sides, car)),
    ]


def _counted_from(aim: Aim) -> Iterator[CountedFrom]:
    if aim.band is not None:
        yield CountedFrom(kind="band")
    elif aim.gain_deg_per_10mm:
        yield CountedFrom(kind="gain", gain_deg_per_10mm=aim.gain_deg_per_10mm)


def _drift(last: Swept, tolerance_deg: float) -> list[StaticDrift]:
    """How static toe drifts with ride height, as far as it was swept."""
    units, travel = last.readings.units, last.curve.travel
    heights = DRIFT_MM[units] * np.array([1.0, -1.0])
    swept = (heights <= travel.max() + SAME_HEIGHT_MM) & (heights >= travel.min() - SAME_HEIGHT_MM)
    lower, higher = np.where(swept, last.curve.at(heights), np.nan)
    return static_drift(lower, higher, units, tolerance_deg)


def _between_heights(last: Swept) -> Iterator[BetweenHeights]:
    """Hold the readings against a maker's toe between two heights, if there is one.

    Raises
    ------
    PivotwrightError
        One of the heights was not swept.
    """
    two = last.readings.between
    if two is None:
        return
    heights = np.array([last.readings.travel_at(x) for x in (two.first, two.second)])
    travel = last.curve.travel
    if (
        heights.min() < travel.min() - SAME_HEIGHT_MM
        or heights.max() > travel.max() + SAME_HEIGHT_MM
    ):
        raise refused(last.readings, "between-not-swept")
    first, second = np.degrees(last.curve.at(heights))
    change = float(second - first)
    yield BetweenHeights(
        units=last.readings.units,
        first_mm=two.first,
        second_mm=two.second,
        change_deg=change,
        least_deg=two.least_deg,
        most_deg=two.most_deg,
        beyond_deg=max(two.least_deg - change, change - two.most_deg, 0.0),
    )


def _against_band(wheel: SweptWheel) -> Iterator[HeldAgainstBand]:
    """Hold the readings against the wanted band, if there is one."""
    if wheel.aim.band is None:
        return
    for side, sweeps in ((None, wheel.sweeps), (OTHER_SIDE[wheel.side], wheel.others)):
        for one in sweeps[-1:]:
            kept = ~one.curve.apart
            change = np.degrees(one.curve.toe - one.curve.zero)[kept]
            verdict = band_verdict(wheel.aim.band, one.curve.travel[kept], change, "readings")
            yield HeldAgainstBand(side=side, verdict=verdict)
