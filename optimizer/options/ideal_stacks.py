"""The stack that a ride height asks for, whatever can be built: the toe-held fit, then its peak.

The fit along the stud axis is a linear least-squares problem.  What counts here is the peak, which
is smallest a little beside it; being the largest of nearly straight lines it has one valley, so a
few ever finer combs of heights around the fit find it.
"""

from itertools import product

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.pivot_fit import fitted_outer
from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.ride_heights import RideHeights
from optimizer.car.settings import Rows, Settings, joined_settings

COMB = np.linspace(-1.0, 1.0, 17)
HALF_WIDTHS_MM = (8.0, 8.0, 1.0, 0.125, 0.0156)  # the second in case the fit lies far from it


class IdealStacks(Struct, frozen=True):
    """The stack with the smallest peak at each of L heights for each of C choices of the rest.

    `settings` holds L x C rows, height by height; `peak` (L, C) is what each leaves, infinite
    where the linkage can't follow. [rad]
    """

    settings: Settings
    peak: Array


def ideal_stacks(heights: RideHeights) -> IdealStacks:
    """Find the ideal stack at every height for every place of the rack and linkage."""
    rest = heights.case.rack.places, range(len(heights.case.linkage_choices))
    bare = joined_settings(
        [Settings.single(0.0, up, linkage, forward) for (up, forward), linkage in product(*rest)]
    )
    found = [
        _ideal(evaluator, bare, np.flatnonzero(assembled[bare.linkage]))
        for evaluator, assembled in zip(heights.evaluators, heights.assembled(), strict=True)
    ]
    settings, peaks = zip(*found, strict=True)
    return IdealStacks(joined_settings(settings), np.array(peaks))


def _ideal(evaluator: Evaluator, bare: Settings, sound: Rows) -> tuple[Settings, Array]:
    """Add the ideal stack to those settings (C,) that are `sound`, and find their peaks. [rad]."""
    stacks, peak = np.zeros(len(bare)), np.full(len(bare), np.inf)
    if sound.size:
        found = with_best_stack(evaluator, bare.rows(sound))
        stacks[sound] = found.outer_drop
        peaks = np.abs(evaluator.toe_change(found)).max(axis=1)
        peak[sound] = np.where(np.isnan(peaks), np.inf, peaks)
    return replace(bare, outer_drop=stacks), peak


def with_best_stack(evaluator: Evaluator, settings: Settings) -> Settings:
    """Give each of some settings the stack that peaks least, in the place of its own."""
    bare = replace(settings, outer_drop=np.zeros(len(settings)))
    stacks = np.array([_fitted(evaluator, bare.rows(np.array([k]))) for k in range(len(bare))])
    for half_width in HALF_WIDTHS_MM:
        tried = stacks[:, None] + half_width * COMB
        of_each = bare.rows(np.arange(len(bare)).repeat(COMB.size))
        rows = replace(of_each, outer_drop=tried.ravel())
        peak = np.abs(evaluator.toe_change_estimate(rows)).max(axis=1).reshape(tried.shape)
        best = np.argmin(np.where(np.isnan(peak), np.inf, peak), axis=1)
        stacks = tried[np.arange(len(tried)), best]
    return replace(bare, outer_drop=stacks)


def _fitted(evaluator: Evaluator, bare: Settings) -> float:
    """Stack of the least-squares fit. [mm]."""
    corner = evaluator.corner
    (seat,), (inner,) = corner.pivots(bare)
    poses = evaluator.poses(int(bare.linkage[0]))
    return float(fitted_outer(poses, seat, inner, corner.stud_axis[None, :]).moves[0])
