"""The proof: every setting scored, every one that could still be best solved exactly.

The toe-held estimate scores all settings in one pass.  What it leaves out is bounded by twice its
own second-order term, so a setting whose estimate, less that bound, exceeds a peak already found
cannot beat it and need not be solved.  The walk goes from the best estimate down, solves exactly,
checks the limits, and ends when nothing left can enter the leading group.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.adjust import Rows, Settings
from optimizer.car.evaluate import Evaluator
from optimizer.options.candidates import Candidates

RESOLUTION = float(np.radians(0.01))  # a gauge tells no two toe angles closer than this apart
BOUND_FACTOR = 2.0  # times the second-order term of the estimate
BLOCK = 32  # settings that a walk looks at first; twice as many each time it must go on
MOST_AT_A_TIME = 512
MOST_AT_ENDS = 4096  # where only the ends of travel are looked at


@dataclass(frozen=True)
class Proof:
    """Outcome of the walk over a whole space.

    `fitting` are the best rows that keep every limit, in ranking order; `refused` are better rows
    that do not fit, best first; `best_peak` is infinite where nothing fits [rad]; `solved` counts
    the settings solved exactly.
    """

    fitting: Rows
    refused: Rows
    best_peak: float
    combinations: int
    solved: int


def prove(candidates: Candidates, *, wanted: int) -> Proof:
    """Find the best settings that fit, and prove that no other is better.

    Parameters
    ----------
    candidates : Candidates
        A space and what is known about it; what the walk finds out is added.
    wanted : int
        How many fitting settings to name.

    Returns
    -------
    Proof
        The leading group (within `RESOLUTION` of the best that fits) comes in order of effort,
        then the others by peak.
    """
    order, least = _by_estimate(candidates)
    best_peak, refused = _first_fit(candidates, order, least)
    group = _solved_below(candidates, order, least, best_peak + RESOLUTION)
    fitting = simplest_fits(candidates, group, wanted)
    if fitting.size < wanted:
        fitting = np.concatenate(
            [fitting, _next_fits(candidates, (order, least), group, wanted - fitting.size)]
        )
    return Proof(
        fitting=fitting,
        refused=refused,
        best_peak=best_peak,
        combinations=order.size,
        solved=int(np.count_nonzero(~np.isnan(candidates.peak))),
    )


def estimated_peaks(evaluator: Evaluator, settings: Settings) -> tuple[Array, Array]:
    """Estimated peak of each setting, and the least exact peak that it could have, (M,). [rad].

    The second rises with the first; an estimate is infinite where a height is out of reach.
    """
    estimate = np.abs(evaluator.toe_change_estimate(settings)).max(axis=1)
    estimate = np.where(np.isnan(estimate), np.inf, estimate)
    corners = settings.rows(np.unique(np.linspace(0, len(settings) - 1, 64).astype(np.intp)))
    rate = BOUND_FACTOR * evaluator.estimate_error_rate(corners)
    # e - rate e^2 turns over at 1/(2 rate); past that the estimate only says "not less than this".
    held = np.minimum(estimate, 0.5 / rate)
    return estimate, held - rate * held**2


def _by_estimate(candidates: Candidates) -> tuple[Rows, Array]:
    """Rows by estimated peak, and the least exact peak that each could have. [rad]."""
    estimate, least = estimated_peaks(candidates.evaluator, candidates.space.settings)
    order = np.argsort(estimate, kind="stable")
    if not candidates.space.left_competes:
        order = order[order != candidates.space.left]
    return order, least[order]


def _first_fit(candidates: Candidates, order: Rows, least: Array) -> tuple[float, Rows]:
    """Exact peak of the best setting that fits, and the better ones that don't."""
    best, looked = np.inf, order[:0]
    for part in _blocks(order.size, MOST_AT_ENDS):
        if least[part.start] > best:
            break
        looked = order[: part.stop]
        block = order[part]
        candidates.find_peaks(block)
        block = block[candidates.peak[block] < best]
        candidates.find_broken(block)
        block = block[np.argsort(candidates.peak[block], kind="stable")]
        good = _fitting(candidates, block, 1)
        best = min(best, candidates.peak[good].min(initial=np.inf))
    worse = (candidates.violation[looked] > 0.0) & (candidates.peak[looked] < best)
    refused = looked[worse]
    return float(best), refused[np.argsort(candidates.peak[refused], kind="stable")]


def _blocks(rows: int, most: int = MOST_AT_A_TIME) -> Iterator[slice]:
    """Parts of a walk, each twice as long as the one before, up to `most`."""
    start, size = 0, BLOCK
    while start < rows:
        yield slice(start, min(start + size, rows))
        start, size = start + size, min(2 * size, most)


def _solved_below(candidates: Candidates, order: Rows, least: Array, peak: float) -> Rows:
    """Every row whose exact peak does not exceed `peak`."""
    if not np.isfinite(peak):
        return np.empty(0, dtype=np.intp)
    possible = order[: np.searchsorted(least, peak, side="right")]
    candidates.find_peaks(possible)
    return possible[candidates.peak[possible] <= peak]


def simplest_fits(candidates: Candidates, rows: Rows, wanted: int) -> Rows:
    """First `wanted` of the rows that keep every limit, in order of effort."""
    return _fitting(candidates, rows[_effort_order(candidates, rows)], wanted)


def _effort_order(candidates: Candidates, rows: Rows) -> Rows:
    """Order of rows by what they ask of the workshop, equal ones by peak."""
    keys = [*candidates.space.effort()[:, rows], candidates.peak[rows]]
    return np.lexsort(keys[::-1])


def _fitting(candidates: Candidates, rows: Rows, wanted: int) -> Rows:
    """First `wanted` of the rows that keep every limit."""
    found = np.empty(0, dtype=np.intp)
    for part in _blocks(rows.size):
        block = rows[part]
        found = np.concatenate([found, block[candidates.fits(block)]])
        if found.size >= wanted:
            break
    return found[:wanted]


def _next_fits(
    candidates: Candidates, by_estimate: tuple[Rows, Array], group: Rows, wanted: int
) -> Rows:
    """Fitting rows after the leading group, by exact peak."""
    order, least = by_estimate
    done = np.zeros(candidates.peak.size, dtype=bool)
    done[group] = True
    found = np.empty(0, dtype=np.intp)
    for part in _blocks(order.size):
        last = np.sort(candidates.peak[found])[wanted - 1] if found.size >= wanted else np.inf
        if least[part.start] > last:
            break
        block = order[part]
        block = block[~done[block]]
        candidates.find_peaks(block)
        block = block[candidates.peak[block] <= last]
        found = np.concatenate([found, block[candidates.fits(block)]])
    return found[np.argsort(candidates.peak[found], kind="stable")][:wanted]
