"""Two sweeps of one wheel with other stacks: what a millimeter was worth, and what can't be true.

Lowering the outer pivot or raising the inner one turns the slope toward toe-in in bump where the
arms lie behind the axle, and toward toe-out where they lie ahead of it; the size of the
turn is height / (rod x arm), to first order.
"""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from optimizer.gauge.remedy import ARMS_PLACE, SHIMS, slope_of_height
from optimizer.gauge.swept import Swept
from optimizer.models.readings import MeasuredCar
from optimizer.units import MM_PER_INCH, Units, short_length

SURE = 3.0  # standard deviations
SAME_MM = 0.05  # stacks nearer than this are the same
LEAST_CHANGE = float(np.radians(0.003) / 10.0)  # slope that no one would call a change [rad/mm]
ODD_WORTH = (0.5, 2.0)  # times the worth that the lengths promise
WAY = {True: "toe-in", False: "toe-out"}


def lessons(sweeps: list[Swept], gain: float, car: MeasuredCar) -> list[str]:
    """Say what each change of stack did, and where the slope becomes the wanted one.

    `gain` is the wanted slope [rad/mm].  A change that can't be true teaches nothing.
    """
    told = []
    for before, after in pairwise(sweeps):
        height, change = after.height - before.height, _slope(after) - _slope(before)
        if not _same_car(before, after) or abs(height) <= SAME_MM or not _is_sure(before, after):
            continue
        if not _wrong_way(change, car, height):
            wanted = after.height + (gain - _slope(after)) * height / change
            units = after.readings.units
            shim, name = SHIMS[units]
            told.append(
                f'From "{before.readings.name}" to "{after.readings.name}" each {name} of outer '
                f"drop plus {car.words.inner} raise was worth "
                f"{_slope_text(change / height * shim, units, '+.4f')}; by that the slope is as "
                f"wanted at {short_length(wanted, units)}, counted from the standard seat."
            )
    return told


def contradictions(sweeps: list[Swept], car: MeasuredCar) -> Iterator[str]:
    """Say which changes of slope can't have come from the change of stack."""
    for before, after in pairwise(sweeps):
        if not _same_car(before, after):
            continue
        height = after.height - before.height
        if _same_parts(before, after):
            yield from _unexplained(before, after)
        elif abs(height) > SAME_MM and _is_sure(before, after):
            yield from _against_the_map(before, after, car, height)


def _unexplained(before: Swept, after: Swept) -> Iterator[str]:
    change = _slope(after) - _slope(before)
    if _is_sure(before, after) and abs(change) > LEAST_CHANGE:
        yield (
            f'"{before.readings.name}" and "{after.readings.name}" have the same parts fitted, yet '
            f"their slopes differ by {_slope_text(abs(change), after.readings.units, '.3f')}: have "
            "ride height, caster, camber or the gauge changed in between, or is there play?"
        )


def _against_the_map(before: Swept, after: Swept, car: MeasuredCar, height: float) -> Iterator[str]:
    change, units = _slope(after) - _slope(before), after.readings.units
    if car.arms is None:
        return
    done, other = ("lowered", "raised") if height > 0.0 else ("raised", "lowered")
    if _wrong_way(change, car, height):
        yield (
            f'From "{before.readings.name}" to "{after.readings.name}" the outer pivot was {done} '
            f"(or the {car.words.inner} {other}) by {short_length(abs(height), units)}. With "
            f"{car.words.arm}s {ARMS_PLACE[car.arms]} that turns the curve toward "
            f"{WAY[change <= 0.0]} in bump, but the readings went "
            f"toward {WAY[change > 0.0]}. One of these is wrong: the place of the arms, the sign "
            "of toe (reading_grows), the sign of travel, or which stack belongs to which sweep."
        )
        return
    worth = slope_of_height(car)
    if worth is None:
        return
    share = change / (worth * height)
    if not ODD_WORTH[0] <= share <= ODD_WORTH[1]:
        yield (
            f'From "{before.readings.name}" to "{after.readings.name}" the slope changed as '
            f"{short_length(abs(share * height), units)} of height would change it, but the stacks "
            f"differ by {short_length(abs(height), units)}: are the heights, rod_length, "
            "steering_arm and the gauge's lengths right?"
        )


def _wrong_way(change: float, car: MeasuredCar, height: float) -> bool:
    """Whether a slope changed the way that this height never turns it with arms on that side."""
    if car.arms is None:
        return False
    return (change > 0.0) != ((height > 0.0) == (car.arms == "behind"))


def _slope(one: Swept) -> float:
    return float(one.curve.coefficients[0])


def _slope_text(slope: float, units: Units, form: str) -> str:
    """Write a slope [rad/mm] over the travel that the file's owner thinks in."""
    per, name = (10.0, "10 mm") if units == "mm" else (MM_PER_INCH, "inch")
    return f"{np.degrees(slope) * per:{form}} deg per {name}"


def _same_parts(before: Swept, after: Swept) -> bool:
    """Whether both pivots are where they were; the sum of their heights alone doesn't tell."""
    one, other = before.readings, after.readings
    moved = (one.outer_drop - other.outer_drop, one.rack_raise - other.rack_raise)
    return max(map(abs, moved)) <= SAME_MM


def _same_car(before: Swept, after: Swept) -> bool:
    """Whether ball joint or lateral-link brackets, which turn the curve too, were the same."""
    return before.linkage == after.linkage


def _is_sure(before: Swept, after: Swept) -> bool:
    """Whether the slopes differ by more than their readings scatter."""
    sigma = np.hypot(before.curve.slope_sigma, after.curve.slope_sigma)
    return bool(abs(_slope(after) - _slope(before)) > max(SURE * sigma, 0.5 * LEAST_CHANGE))
