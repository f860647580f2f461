"""What each reading beside toe told: what it spans, and what the points foretold of that.

Caster by a sweep of steer is the difference of camber over twice the sine of the angle: the formula
of caster gauges, SAE 850219 (from memory).
"""

from collections.abc import Iterator

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.gauging.beside_toe import beside_toe
from optimizer.gauging.fit import FittedPoints, foretold_rates
from optimizer.gauging.swept import Swept
from optimizer.models.read_beside import ReadBeside


def told_beside_toe(tape: Evaluator, fit: FittedPoints, one: Swept) -> Iterator[ReadBeside]:
    """Tell of each reading beside a sweep, the last of its rows less the first."""
    corrected = moved_corner(tape, fit.errors[None])
    for key, seen in beside_toe(one.readings, one.fitted, one.noise, tape).items():
        foretold, rates = foretold_rates(tape, seen, np.zeros(fit.errors.size))
        spread = float(np.hypot(_spread(rates[-1] - rates[0]), _spread(seen.noise[[0, -1]])))
        longer = seen.longer[-1] - seen.longer[0]
        # As typed: a left wheel that steers to the left toes out.
        out = key == "steered" and (one.readings.side or tape.case.side) == "left"
        sign = -1.0 if out else 1.0
        yield ReadBeside(
            key=key,
            units=one.readings.units,
            longer_mm=float(longer) if longer else None,
            seen_deg=sign * _span_deg(seen.seen),
            foretold_deg=sign * _span_deg(foretold),
            give_or_take_deg=float(np.degrees(spread)),
            corrected_deg=sign * _span_deg(seen.foretold(tape, corrected)[0]),
            caster_deg=None if seen.toe is None else caster_of_sweep(seen.seen, seen.toe),
        )


def caster_of_sweep(camber: Array, toe: Array) -> float:
    """Caster by the formula of caster gauges, from camber steered out and in, (2,) each. [deg]."""
    return -_span_deg(camber) / (2.0 * float(np.sin(toe[-1])))


def _spread(parts: Array) -> float:
    return float(np.sqrt(parts @ parts))


def _span_deg(rows: Array) -> float:
    return float(np.degrees(rows[-1] - rows[0]))
