"""What the rule against far moves leaves: toe that a pivot moved farther would still take away."""

import numpy as np
from msgspec import Struct

from geometry.vectors import Array
from optimizer.options.moves.linear_programs import PER_MM
from optimizer.options.moves.polish import refined, refined_without_limits
from optimizer.options.moves.scores import CustomScores, Pivots
from optimizer.options.proof import RESOLUTION

MENTIONED = 0.5 * RESOLUTION  # peak toe change that is worth a line
NEARLY_FREE = 0.01 * PER_MM  # what a millimeter costs then, so that useless ones stay out


class LeftOver(Struct, frozen=True):
    """How much farther moves (6,) [mm] would bring the peak down, by `gain` [rad]."""

    moves: Array
    gain: float


def left_over(scores: CustomScores, pivot: Pivots) -> LeftOver | None:
    """Find what a pivot (one row) leaves because every millimeter must save some toe.

    None where that is less than `MENTIONED`, or where the pivot or the farther one does not fit.
    """
    (choice,), (moves,) = pivot.choices, pivot.moves
    free = refined_without_limits(scores, choice, moves, per_mm=NEARLY_FREE)
    if pivot.peak[0] - scores.peak(pivot.choices, free[None])[0] <= MENTIONED:
        return None
    farther = refined(scores, choice, free, per_mm=NEARLY_FREE)
    gain = float(pivot.peak[0] - farther.peak[0])
    if max(pivot.violation[0], farther.violation[0]) > 0.0 or not gain > MENTIONED:
        return None
    return LeftOver(np.asarray(farther.moves[0] - moves), gain)
