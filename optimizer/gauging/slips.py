"""Readings that the measured points can't explain as typed, but could if a slip were undone.

The tape's accuracy says how probable any sweep is before it is taken.  A sweep that is most
improbable as typed and quite probable with its sign turned round, or doubled, or halved, asks for
a second look; nothing is corrected.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from optimizer.car.evaluate import Evaluator
from optimizer.gauging.fit import misfits_by_shape
from optimizer.gauging.observation import Observation
from optimizer.gauging.swept import Swept
from optimizer.models.questions import Slip, SlipKind
from optimizer.units import MM_PER_INCH, Units

LEAST_NOISE = float(np.radians(0.01))  # so that flexing parts don't pass for slips [rad]
SHAPES = 2  # a slope and a curvature
IMPROBABLE = 9.0  # mean square of the misfit, in standard deviations
PROBABLE = 4.0

# What undoes each slip, as a factor of toe.
OF_ANY: dict[SlipKind, float] = {"turned": -1.0, "doubled": 2.0, "halved": 0.5}
OF_ANGLES: dict[SlipKind, float] = {"times-60": 60.0, "by-60": 1.0 / 60.0}
OF_LENGTHS: dict[Units, dict[SlipKind, float]] = {  # by the units of the file
    "mm": {"inches": MM_PER_INCH},
    "in": {"millimeters": 1.0 / MM_PER_INCH},
}


def slips(evaluator: Evaluator, one: Swept) -> Iterator[Slip]:
    """Ask about the one slip that best explains a sweep that the points can't."""
    sweep = one.toe_seen().with_noise_above(LEAST_NOISE)
    as_typed = _improbability(evaluator, sweep, 1.0)
    if not as_typed > IMPROBABLE:
        return
    by_angle = one.readings.kind == "angle"
    factors = OF_ANY | (OF_ANGLES if by_angle else OF_LENGTHS[one.readings.units])
    found = {kind: _improbability(evaluator, sweep, factor) for kind, factor in factors.items()}
    found["exchanged"] = _improbability(evaluator, replace(sweep, travel=-sweep.travel), 1.0)
    best = min(found, key=lambda kind: found[kind])
    if found[best] < PROBABLE:
        yield Slip(kind=best)


def _improbability(evaluator: Evaluator, sweep: Observation, factor: float) -> float:
    """Mean square misfit of a sweep along the shapes of toe curve that points change most.

    In standard deviations of tape and gauge together; infinite where the model can't follow.
    """
    (found,) = misfits_by_shape(evaluator, [replace(sweep, seen=factor * sweep.seen)])
    return float("inf") if found is None else float(np.square(found[0][:SHAPES]).mean())
