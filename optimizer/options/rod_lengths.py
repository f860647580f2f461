"""The rod length that a curve asks for: what the best stack leaves is mostly a length error.

The inner pivot moves along the axis that the rod lies most along, the stack goes with it.  Peak is
the largest of nearly straight lines in both, so ever finer combs find its one valley.
"""

import numpy as np
from msgspec.structs import replace

from geometry.vectors import Array, norm
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.options.ideal_stacks import COMB, with_best_stack
from optimizer.units import MM_PER_INCH, Units

FINE_MM: dict[Units, float] = {"mm": 0.1, "in": 0.005 * MM_PER_INCH}  # as finely as it is told
HALF_WIDTHS_MM = (160.0, 20.0, 2.5, 0.3)
FARTHEST = 0.1  # of the rod's length


def best_rod(evaluator: Evaluator, fitted: Settings, step: float) -> tuple[Settings, float]:
    """Stack and inner pivot with the least peak, beside the rest of one setting.

    The inner pivot goes in whole steps. [mm]

    Returns
    -------
    Settings
        One row, with its `inner_move`. [mm]
    float
        How much farther from the outer pivot the inner one then is. [mm]
    """
    away = _away_from_outer(evaluator)
    longer = 0.0
    for half_width in HALF_WIDTHS_MM:
        tried = np.round((longer + half_width * COMB) / step) * step
        moved = replace(
            fitted.rows(np.zeros(COMB.size, dtype=np.intp)), inner_move=tried[:, None] * away
        )
        moved = with_best_stack(evaluator, moved)
        peak = np.abs(evaluator.toe_change_estimate(moved)).max(axis=1)
        best = int(np.argmin(np.where(np.isnan(peak), np.inf, peak)))
        longer = float(tried[best])
    return moved.rows(np.array([best])), longer


def out_of_reach(evaluator: Evaluator, longer: float) -> bool:
    """Whether no hardware moves an inner pivot so far, more than `FARTHEST` of the rod. [mm].

    A rod's arc is bent by one over its length, so a move of a tenth takes a tenth of the bend away
    or adds it: as much as other racks, extenders and brackets do (common practice, no source).  A
    curve that asks for more is of other points, or of another layout; no part cures it.
    """
    corner = evaluator.corner
    return abs(longer) > FARTHEST * float(norm(corner.outer_seat - corner.inner))


def _away_from_outer(evaluator: Evaluator) -> Array:
    """Unit vector along the axis that the rod lies most along, toward its inner end, (3,)."""
    rod = evaluator.corner.inner - evaluator.corner.outer_seat
    axis = np.zeros(3)
    most = int(np.argmax(np.abs(rod)))
    axis[most] = np.sign(rod[most])
    return axis
