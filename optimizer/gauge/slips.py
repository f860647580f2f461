"""Readings that the measured points can't explain as typed, but could if a slip were undone.

The tape's accuracy says how probable any sweep is before it is taken.  A sweep that is most
improbable as typed and quite probable with its sign turned round, or doubled, or halved, asks for
a second look; nothing is corrected.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import point_names
from optimizer.gauge.fit import linearized
from optimizer.gauge.sweep import Sweep
from optimizer.gauge.swept import Swept
from optimizer.units import MM_PER_INCH

LEAST_NOISE = float(np.radians(0.01))  # so that flexing parts don't pass for slips [rad]
SHAPES = 2  # a slope and a curvature
IMPROBABLE = 9.0  # mean square of the misfit, in standard deviations
PROBABLE = 4.0

TURNED = (
    "turned round they would: is reading_grows right, and were front and rear, or plus and minus, "
    "kept apart?"
)
EXCHANGED = "with bump and droop exchanged they would: is the sign of travel right?"
DOUBLED = (
    "twice the toe would: was a radius taken for a diameter, or one wheel's toe for half of both?"
)
HALVED = (
    "half of the toe would: was a diameter taken for a radius, or the toe of both wheels typed as "
    "that of one?"
)
TIMES_60 = "60 times the toe would: were minutes typed as seconds, or degrees as minutes?"
BY_60 = "a 60th of the toe would: were minutes typed as degrees?"
INCHES = "25.4 times the toe would: were inches typed where the file says mm?"
MILLIMETERS = "a 25.4th of the toe would: were millimeters typed where the file says inches?"


def slips(evaluator: Evaluator, one: Swept) -> Iterator[str]:
    """Ask about the one slip that best explains a sweep that the points can't."""
    sweep = replace(one.sweep(), noise=max(one.noise, LEAST_NOISE))
    as_typed = _improbability(evaluator, sweep, 1.0)
    if not as_typed > IMPROBABLE:
        return
    factors = {-1.0: TURNED, 2.0: DOUBLED, 0.5: HALVED}
    if one.readings.kind == "angle":
        factors |= {60.0: TIMES_60, 1.0 / 60.0: BY_60}
    else:
        factors |= {MM_PER_INCH: INCHES, 1.0 / MM_PER_INCH: MILLIMETERS}
    found = {text: _improbability(evaluator, sweep, factor) for factor, text in factors.items()}
    found[EXCHANGED] = _improbability(evaluator, replace(sweep, travel=-sweep.travel), 1.0)
    best = min(found, key=lambda text: found[text])
    if found[best] < PROBABLE:
        yield f"As typed, the readings don't fit the points within their accuracy; {best}"


def _improbability(evaluator: Evaluator, sweep: Sweep, factor: float) -> float:
    """Mean square misfit of a sweep along the shapes of toe curve that points change most.

    In standard deviations of tape and gauge together; infinite where the model can't follow.
    """
    changed = replace(sweep, toe=factor * sweep.toe)
    size = 3 * len(point_names(evaluator.corner))
    rates, misfit = linearized(evaluator, [changed], np.zeros(size))
    if not rates.any():
        return float("inf")
    shapes, spread, _ = np.linalg.svd(rates, full_matrices=False)
    along: Array = (shapes.T @ misfit) / np.sqrt(spread**2 + 1.0)
    return float(np.square(along[:SHAPES]).mean())
