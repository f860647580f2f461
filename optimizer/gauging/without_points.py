"""The next stack of a wheel without points, from what its lengths or another stack tell."""

import numpy as np
from msgspec import Struct

from optimizer.gauging.conversions import as_read, gauge_of
from optimizer.gauging.swept import Swept
from optimizer.models.answer import Fact
from optimizer.models.gauge import GaugeReading, Measured
from optimizer.models.remedies import FromShelf, HeightError
from optimizer.models.stacks import BuildableStack, shelf_stacks


class Remedied(Struct, frozen=True):
    """What the shelf builds of an amount, if there is a shelf, and the readings to expect then."""

    from_shelf: list[FromShelf]
    expected: list[GaugeReading]


def remedied(last: Swept, measured: Measured, diagnosis: list[Fact]) -> Remedied:
    """Fit the amount that a diagnosis asks for, as nearly as the shelf builds it.

    To first order: the slope turns with the height, the rest of the curve stays.
    """
    errors = [fact for fact in diagnosis if isinstance(fact, HeightError)]
    if not errors or errors[0].by_mm is None:
        return Remedied([], [])
    change = errors[0].by_mm if errors[0].cure == "lower-outer" else -errors[0].by_mm
    shelf, fitted = last.readings.shelf, last.readings.fitted_drop
    if shelf is None:
        return Remedied([], _expected(last, measured, 1.0))
    target = fitted + change
    stacks = [BuildableStack(0.0, ()), *shelf_stacks(shelf, None, last.readings.units)]
    nearest = min(stacks, key=lambda stack: (abs(stack.height - target), len(stack.pieces)))
    share = (nearest.height - fitted) / change
    found = FromShelf(
        units=last.readings.units,
        from_seat=last.readings.outer_drop is not None,
        target_mm=target,
        stack_mm=nearest.pieces,
        height_mm=nearest.height,
        left_deg_per_10mm=measured.toe_slope_deg_per_10mm * (1.0 - share),
    )
    if not share:  # nothing changes, so there is nothing new to expect
        return Remedied([found], [])
    return Remedied([found], _expected(last, measured, share))


def _expected(last: Swept, measured: Measured, share: float) -> list[GaugeReading]:
    """Readings with a share of the slope taken out, at the heights that were read."""
    travel = np.unique(np.append(np.round(last.curve.travel, 6), 0.0))
    taken = np.radians(measured.toe_slope_deg_per_10mm) / 10.0 * share
    change = last.curve.at(travel) - taken * travel
    shown = as_read(last.readings, gauge_of(last.readings).number(change))
    return [
        GaugeReading(travel_mm=height, toe_change_deg=angle, gauge=number)
        for height, angle, number in zip(travel, np.degrees(change), shown, strict=True)
    ]
