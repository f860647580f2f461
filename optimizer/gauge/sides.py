"""Left and right compared: half of their difference, and what usually makes it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.toe_curve import toe_change
from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.gauge.remedy import slope_of_height
from optimizer.gauge.swept import Swept
from optimizer.models.gauge import SideDifference
from optimizer.models.readings import MeasuredCar
from optimizer.models.result import Side
from optimizer.units import length_text, short_length

AGREE = float(np.radians(0.03))  # peak half-difference up to which two sides pass for mirror images
SURE = 3.0  # standard deviations
SWAPPED = 0.35  # share of the difference that may be left with the stacks swapped
LEAST_STACK_MM = 0.5  # a smaller difference of stacks is no suspect


@dataclass(frozen=True)
class Sides:
    """Toe change of this wheel and of the other at common heights, (N,) each. [mm, rad].

    `explained` (N,) is this less the other by the parts that are fitted, as far as it is known;
    `other` names the other side.
    """

    mine: Swept
    theirs: Swept
    travel: Array
    this_change: Array
    other_change: Array
    explained: Array
    other: Side

    @property
    def unexplained_half(self) -> Array:
        """Half of the difference that the fitted parts don't account for, (N,). [rad]."""
        return 0.5 * (self.this_change - self.other_change - self.explained)

    @property
    def agree(self) -> bool:
        """Whether the two wheels pass for mirror images of each other."""
        return bool(np.abs(self.unexplained_half).max() <= AGREE)


def compared(
    mine: Swept, theirs: Swept, evaluator: Evaluator | None, car: MeasuredCar, other: Side
) -> Sides:
    """Put two wheels side by side, over the heights that both were swept through."""
    low = max(float(one.curve.travel.min()) for one in (mine, theirs))
    high = min(float(one.curve.travel.max()) for one in (mine, theirs))
    travel = np.unique(np.append(mine.curve.travel, [low, 0.0, high]))
    travel = travel[(travel >= min(low, 0.0)) & (travel <= max(high, 0.0))]
    explained = np.zeros(travel.size)
    if evaluator is not None:
        toe = [evaluator.toe(one.fitted, travel)[0] for one in (mine, theirs)]
        explained = np.nan_to_num(toe_change(travel, toe[0] - toe[1]))
    elif (worth := slope_of_height(car)) is not None:
        explained = worth * (mine.height - theirs.height) * travel
    return Sides(
        mine, theirs, travel, mine.curve.at(travel), theirs.curve.at(travel), explained, other
    )


def side_difference(sides: Sides, *, fitted_together: bool) -> SideDifference:
    """Answer for two sides."""
    mean = 0.5 * (sides.this_change + sides.other_change)
    half = 0.5 * (sides.this_change - sides.other_change)
    return SideDifference(
        other=sides.other,
        travel_mm=sides.travel.tolist(),
        mean_toe_change_deg=np.degrees(mean).tolist(),
        half_difference_deg=np.degrees(half).tolist(),
        fitted_together=fitted_together,
    )


def sides_in_words(sides: Sides, car: MeasuredCar) -> Iterator[str]:
    """Say whether the sides agree, where they don't, and what usually causes that."""
    difference = sides.this_change - sides.other_change
    worst = int(np.argmax(np.abs(difference)))
    units = sides.mine.readings.units
    if sides.agree:
        yield (
            f"The wheels pass for mirror images: beyond what different stacks explain, they differ "
            f"by at most {np.degrees(2.0 * np.abs(sides.unexplained_half).max()):.3f} deg."
        )
        return
    way = "in" if difference[worst] > 0.0 else "out"
    yield (
        f"The sides differ: at travel {length_text(sides.travel[worst], units)} this wheel toes "
        f"{way} by {np.degrees(abs(difference[worst])):.3f} deg more than the {sides.other} one. "
        "Each side needs a stack of its own."
    )
    yield from _by_height(sides, car)
    yield from _by_length(sides, car)


def _by_height(sides: Sides, car: MeasuredCar) -> Iterator[str]:
    """Blame the part of the difference that runs straight through ride height."""
    mine, theirs = sides.mine.curve, sides.theirs.curve
    slope = float(mine.coefficients[0] - theirs.coefficients[0])
    sure = SURE * float(np.hypot(mine.slope_sigma, theirs.slope_sigma))
    if abs(slope) * float(np.abs(sides.travel).max()) < max(AGREE, sure):
        return
    worth, units = slope_of_height(car), sides.mine.readings.units
    stacks = sides.mine.readings.outer_drop - sides.theirs.readings.outer_drop
    if worth is None:
        amount = ""
    else:
        height = slope / worth
        amount = f", as {short_length(abs(height), units)} of height at one outer pivot would make"
        # With the stacks changed over, this side would gain twice what it now lacks.
        if abs(stacks) >= LEAST_STACK_MM and abs(height - 2.0 * stacks) < SWAPPED * abs(height):
            yield (
                f"The stacks differ by {short_length(abs(stacks), units)} and the slopes as "
                f"{short_length(abs(height), units)} of height would make them: changed over, the "
                "sides would agree. Were the shims fitted on the wrong sides?"
            )
    yield (
        f"Their slopes differ{amount}: look for shims on the wrong side, a {car.words.carrier} "
        f"that is not level, or a bent {car.words.arm} or upright."
    )


def _by_length(sides: Sides, car: MeasuredCar) -> Iterator[str]:
    """Blame the part of the difference that goes the same way in bump and in droop."""
    mine, theirs = sides.mine.curve, sides.theirs.curve
    bend = float(mine.coefficients[1] - theirs.coefficients[1])
    if abs(bend) * float(np.abs(sides.travel).max()) ** 2 < AGREE:
        return
    yield (
        f"Their curvatures differ: look for {car.words.rod}s of unequal length, a "
        f"{car.words.carrier} that is not centered, or a bent arm."
    )
