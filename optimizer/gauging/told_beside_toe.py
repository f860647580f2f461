"""What each reading beside toe told: what it spans, and what the points foretold of that.

Caster by a sweep of steer is the difference of camber over twice the sine of the angle: the formula
of caster gauges, SAE 850219 (from memory).
"""

from collections.abc import Iterator
from math import degrees

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.gauging.beside_toe import sign_as_typed
from optimizer.gauging.fit import FittedPoints
from optimizer.gauging.observation import all_foretold
from optimizer.gauging.swept import Swept
from optimizer.models.read_beside import MovedBeside, ReadBeside


def told_beside_toe(
    tape: Evaluator, fit: FittedPoints, one: Swept
) -> Iterator[ReadBeside | MovedBeside]:
    """Tell of each reading beside a sweep how far its rows go."""
    beside = one.beside(tape)
    corrected = all_foretold(tape, moved_corner(tape, fit.errors[None]), [*beside.values()])
    for (key, seen), (then,) in zip(beside.items(), corrected, strict=True):
        foretold, rates = one.by_tape[key]
        if not np.isfinite(seen.span @ then):
            continue  # out of the corrected car's reach
        spread = float(np.hypot(_spread(seen.span @ rates), _spread(seen.span * seen.noise)))
        if seen.length:
            yield MovedBeside(
                key=key,
                units=one.readings.units,
                seen_mm=float(seen.span @ seen.seen),
                foretold_mm=float(seen.span @ foretold),
                give_or_take_mm=spread,
                corrected_mm=float(seen.span @ then),
            )
            continue
        longer = float(seen.span @ seen.longer)
        sign = sign_as_typed(key, one.readings.side or tape.case.side)
        yield ReadBeside(
            key=key,
            units=one.readings.units,
            longer_mm=longer or None,
            seen_deg=sign * degrees(seen.span @ seen.seen),
            foretold_deg=sign * degrees(seen.span @ foretold),
            give_or_take_deg=degrees(spread),
            corrected_deg=sign * degrees(seen.span @ then),
            caster_deg=None if seen.toe is None else caster_of_sweep(seen.seen, seen.toe),
        )


def caster_of_sweep(camber: Array, toe: Array) -> float:
    """Caster by the formula of caster gauges, from camber steered out and in, (2,) each. [deg]."""
    return -degrees(camber[-1] - camber[0]) / (2.0 * float(np.sin(toe[-1])))


def _spread(parts: Array) -> float:
    return float(np.sqrt(parts @ parts))
