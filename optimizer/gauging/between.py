"""Two sweeps of one wheel with other stacks: what a millimeter was worth, and what can't be true.

Lowering the outer pivot or raising the inner one turns the slope toward toe-in in bump where the
arms lie behind the axle, and toward toe-out where they lie ahead of it; the size of the
turn is height / (rod x arm), to first order.
"""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from optimizer.gauging.remedy import slope_of_height, way_of
from optimizer.gauging.swept import Swept
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.remedies import Arms
from optimizer.models.sweeps import Contradiction, Lesson

SURE = 3.0  # standard deviations
SAME_MM = 0.05  # stacks nearer than this are the same
LEAST_CHANGE = float(np.radians(0.003) / 10.0)  # slope that no one would call a change [rad/mm]
ODD_WORTH = (0.65, 1.55)  # times the worth that the lengths promise; a tall stack does less


def lessons(sweeps: list[Swept], gain: float, car: MeasuredCar) -> Iterator[Lesson]:
    """What each change of stack did, and where the slope becomes the wanted one.

    `gain` is the wanted slope [rad/mm].  A change that can't be true teaches nothing.
    """
    for before, after in pairwise(sweeps):
        height, change = after.height - before.height, _slope(after) - _slope(before)
        if not _same_car(before, after) or abs(height) <= SAME_MM or not _is_sure(before, after):
            continue
        if not _wrong_way(change, car, height):
            yield Lesson(
                before=before.readings.name,
                after=after.readings.name,
                units=after.readings.units,
                worth_deg_per_mm2=float(np.degrees(change / height)),
                tried_mm=height,
                wanted_mm=after.height + (gain - _slope(after)) * height / change,
                arms=_arms_of(change, height) if car.arms is None else None,
            )


def _arms_of(change: float, height: float) -> Arms:
    """Where the arms must be for a height to turn the slope as it did."""
    return "behind" if (change > 0.0) == (height > 0.0) else "ahead"


def contradictions(sweeps: list[Swept], car: MeasuredCar) -> Iterator[Contradiction]:
    """Changes of slope that can't have come from the change of stack."""
    for before, after in pairwise(sweeps):
        height, change = after.height - before.height, _slope(after) - _slope(before)
        if not _same_car(before, after) or not _is_sure(before, after):
            continue
        found = Contradiction(
            kind="same-parts",
            before=before.readings.name,
            after=after.readings.name,
            units=after.readings.units,
            by_deg_per_10mm=float(np.degrees(abs(change)) * 10.0),
            height_mm=height,
        )
        if _same_parts(before, after):
            if abs(change) > LEAST_CHANGE:
                yield found
        elif abs(height) > SAME_MM:
            yield from _against_the_map(found, change, car)


def _against_the_map(
    found: Contradiction, change: float, car: MeasuredCar
) -> Iterator[Contradiction]:
    height, worth = found.height_mm, slope_of_height(car)
    if _wrong_way(change, car, height):
        yield found.model_copy(
            update={"kind": "wrong-way", "arms": car.arms, "went": way_of(change)}
        )
    elif worth is not None:
        share = change / (worth * height)
        if not ODD_WORTH[0] <= share <= ODD_WORTH[1]:
            yield found.model_copy(update={"kind": "odd-worth", "as_mm": abs(share * height)})


def _wrong_way(change: float, car: MeasuredCar, height: float) -> bool:
    """Whether a slope changed the way that this height never turns it with arms on that side."""
    if car.arms is None:
        return False
    return _arms_of(change, height) != car.arms


def _slope(one: Swept) -> float:
    return one.curve.slope


def _same_parts(before: Swept, after: Swept) -> bool:
    """Whether both pivots are where they were; the sum of their heights alone doesn't tell."""
    one, other = before.readings, after.readings
    moved = (
        one.fitted_drop - other.fitted_drop,
        one.fitted_raise - other.fitted_raise,
        (one.rack_fore_aft or 0.0) - (other.rack_fore_aft or 0.0),
    )
    return max(map(abs, moved)) <= SAME_MM


def _same_car(before: Swept, after: Swept) -> bool:
    """Whether ball joint or lateral-link brackets, which turn the curve too, were the same."""
    return before.linkage == after.linkage


def _is_sure(before: Swept, after: Swept) -> bool:
    """Whether the slopes differ by more than their readings scatter."""
    sigma = np.hypot(before.curve.slope_sigma, after.curve.slope_sigma)
    return bool(abs(_slope(after) - _slope(before)) > max(SURE * sigma, 0.5 * LEAST_CHANGE))
