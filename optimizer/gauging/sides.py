"""Left and right compared: half of their difference, and what usually makes it."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from msgspec import Struct

from geometry.toe_curve import toe_change
from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.gauging.remedy import slope_of_height, way_of
from optimizer.gauging.swept import Swept
from optimizer.models.gauge import SideDifference
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.sweeps import SideFinding, SideKind
from optimizer.units import Side

AGREE = float(np.radians(0.03))  # peak half-difference up to which two sides pass for mirror images
SURE = 3.0  # standard deviations
SWAPPED = 0.35  # share of the difference that may be left with the stacks swapped
LEAST_STACK_MM = 0.5  # a smaller difference of stacks is no suspect


class Sides(Struct, frozen=True):
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

    def finding(self, kind: SideKind, **figures: Any) -> SideFinding:
        """Make a finding about these two wheels."""
        return SideFinding(kind=kind, units=self.mine.readings.units, other=self.other, **figures)


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


def side_difference(sides: Sides, *, fitted_together: bool = False) -> SideDifference:
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


def side_findings(sides: Sides, car: MeasuredCar) -> Iterator[SideFinding]:
    """Whether the sides agree, where they don't, and what usually causes that."""
    difference = 2.0 * sides.unexplained_half
    worst = int(np.argmax(np.abs(difference)))
    if sides.agree:
        most = np.abs(difference).max()
        yield sides.finding("alike", by_deg=float(np.degrees(most)))
        return
    apart = abs(sides.mine.lowered - sides.theirs.lowered)
    yield sides.finding(
        "differ",
        stacks_mm=apart if apart >= LEAST_STACK_MM else None,
        travel_mm=float(sides.travel[worst]),
        way=way_of(difference[worst]),
        by_deg=float(np.degrees(abs(difference[worst]))),
    )
    yield from _by_height(sides, car)
    yield from _by_length(sides)


def _by_height(sides: Sides, car: MeasuredCar) -> Iterator[SideFinding]:
    """Blame the part of the difference that runs straight through ride height."""
    mine, theirs = sides.mine.curve, sides.theirs.curve
    slope = mine.slope - theirs.slope
    sure = SURE * float(np.hypot(mine.slope_sigma, theirs.slope_sigma))
    if abs(slope) * float(np.abs(sides.travel).max()) < max(AGREE, sure):
        return
    worth = slope_of_height(car)
    height = None if worth is None else slope / worth
    stacks = sides.mine.lowered - sides.theirs.lowered
    explained = sides.explained @ sides.travel / (sides.travel @ sides.travel)
    # With the stacks changed over, this side would gain twice what it now lacks.
    if (
        height is not None
        and abs(stacks) >= LEAST_STACK_MM
        and abs(height - 2.0 * stacks) < SWAPPED * abs(height)
    ):
        yield sides.finding("changed-over", height_mm=abs(height), stacks_mm=abs(stacks))
    own = slope - float(explained)
    if abs(own) * float(np.abs(sides.travel).max()) >= max(AGREE, sure):
        by = None if worth is None else abs(own / worth)
        yield sides.finding("slopes", height_mm=by)


def _by_length(sides: Sides) -> Iterator[SideFinding]:
    """Blame the part of the difference that goes the same way in bump and in droop."""
    mine, theirs = sides.mine.curve, sides.theirs.curve
    if mine.bend is None or theirs.bend is None:
        return
    bend = mine.bend - theirs.bend
    if abs(bend) * float(np.abs(sides.travel).max()) ** 2 >= AGREE:
        yield sides.finding("curvatures")
