"""The stack that a ride height asks for, whatever can be built: the toe-held fit, then its peak.

The fit along the stud axis is a linear least-squares problem.  What counts here is the peak, which
is smallest a little beside it; being the largest of nearly straight lines it has one valley, so a
few ever finer combs of heights around the fit find it.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np

from geometry.pivot_fit import fitted_outer
from geometry.vectors import Array
from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.car.ride_heights import RideHeights

COMB = np.linspace(-1.0, 1.0, 17)
HALF_WIDTHS_MM = (8.0, 8.0, 1.0, 0.125, 0.0156)  # the second in case the fit lies far from it


@dataclass(frozen=True)
class IdealStacks:
    """The stack with the smallest peak at each of L heights for each of C places of the rest.

    `settings` holds L x C rows, height by height; `peak` (L, C) is what each leaves, infinite
    where the linkage can't follow. [rad]
    """

    settings: Settings
    peak: Array


def ideal_stacks(heights: RideHeights) -> IdealStacks:
    """Find the ideal stack at every height for every rack spacer and ball-joint drop."""
    case = heights.case
    choices = np.array(list(product(case.rack.spacers, case.linkage_choices)))
    stacks = np.zeros((len(heights.evaluators), len(choices)))
    peak = np.full(stacks.shape, np.inf)
    assembled = heights.assembled()
    drops = list(case.linkage_choices)
    for place, evaluator in enumerate(heights.evaluators):
        sound = np.flatnonzero([assembled[place, drops.index(drop)] for _, drop in choices])
        if sound.size:
            found = _ideal(evaluator, choices[sound])
            stacks[place, sound] = found.outer_drop
            peaks = np.abs(evaluator.toe_change(found)).max(axis=1)
            peak[place, sound] = np.where(np.isnan(peaks), np.inf, peaks)
    rest = np.tile(choices, (len(stacks), 1))
    return IdealStacks(Settings(stacks.ravel(), rest[:, 0].copy(), rest[:, 1].copy()), peak)


def _ideal(evaluator: Evaluator, choices: Array) -> Settings:
    """Settings (C,) with the ideal stack for each rack raise and drop of `choices` (C, 2)."""
    raises, drops = choices.T.copy()
    stacks = np.array([_fitted(evaluator, *choice) for choice in choices])
    for half_width in HALF_WIDTHS_MM:
        tried = stacks[:, None] + half_width * COMB
        rows = Settings(tried.ravel(), raises.repeat(COMB.size), drops.repeat(COMB.size))
        peak = np.abs(evaluator.toe_change_estimate(rows)).max(axis=1).reshape(tried.shape)
        best = np.argmin(np.where(np.isnan(peak), np.inf, peak), axis=1)
        stacks = tried[np.arange(len(tried)), best]
    return Settings(stacks, raises, drops)


def _fitted(evaluator: Evaluator, rack_raise: float, drop: float) -> float:
    corner = evaluator.corner
    (seat,), (inner,) = corner.pivots(Settings.single(0.0, rack_raise, drop))
    fit = fitted_outer(evaluator.poses(drop), seat, inner, corner.stud_axis[None, :])
    return float(fit.moves[0])
