"""The first-order estimate of a setting's peak, and how far the exact one may lie below it."""

from collections.abc import Iterator

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings

BOUND_FACTOR = 2.0  # times the second-order term of the estimate
AT_A_TIME = 16_384  # settings that are scored together, so that memory stays small


def estimated_peaks(evaluator: Evaluator, settings: Settings) -> tuple[Array, Array]:
    """Estimated peak of each setting, and the least exact peak that it could have, (M,). [rad].

    The second rises with the first; an estimate is infinite where a height is out of reach.
    """
    estimate = np.empty(len(settings))
    for rows in some_at_a_time(np.arange(len(settings))):
        change = evaluator.toe_change_estimate(settings.rows(rows))
        estimate[rows] = np.abs(change, out=change).max(axis=1)
    estimate[np.isnan(estimate)] = np.inf
    corners = settings.rows(np.unique(np.linspace(0, len(settings) - 1, 64).astype(np.intp)))
    rate = BOUND_FACTOR * evaluator.estimate_error_rate(corners)
    # e - rate e^2 turns over at 1/(2 rate); past that the estimate only says "not less than this".
    held = np.minimum(estimate, 0.5 / rate)
    return estimate, held - rate * held**2


def some_at_a_time(rows: Rows) -> Iterator[Rows]:
    """Parts of some rows, so that what is found for all of them stays small in memory."""
    return (rows[start : start + AT_A_TIME] for start in range(0, rows.size, AT_A_TIME))
