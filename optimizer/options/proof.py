"""The proof for one wheel: every setting scored, every one that could still be best solved exactly.

The toe-held estimate scores all settings in one pass.  What it leaves out is bounded by twice its
own second-order term, so a setting whose estimate, less that bound, exceeds a peak already found
cannot beat it and need not be solved.  The walk goes from the lowest bound up, solves exactly,
checks the limits, and ends when nothing left can enter the leading group.

A walk is a generator of the rows that it has solved, block by block, so that whoever drives it (the
study) can tell of them; `finished` drives it to its end.
"""

from collections.abc import Generator, Iterator
from typing import Any, TypeVar

import numpy as np
from msgspec import Struct

from optimizer.car.settings import Rows
from optimizer.options.candidates import WORK, Candidates

RESOLUTION = float(np.radians(0.01))  # a gauge tells no two toe angles closer than this apart
BLOCK = 32  # settings that a walk looks at first; twice as many each time it must go on
FEW = 4  # so many where many walks are each to find one setting, which are looked ahead of
FASTER = 4  # and so many times as many each time such a walk must go on
MOST_AT_A_TIME = 512
MOST_AT_ENDS = 4096  # where only the ends of travel are looked at

Found = TypeVar("Found")
Walk = Generator[Rows, None, Found]


class Proof(Struct, frozen=True):
    """Outcome of the walk over the settings of a wheel.

    `fitting` are the best rows that keep every limit, in ranking order; `refused` are better rows
    that do not fit, best first, after those that are merely not sure enough to; `best_peak` is
    infinite where nothing fits. [rad]
    """

    fitting: Rows
    refused: Rows
    best_peak: float


def finished(walk: Generator[Any, None, Found]) -> Found:
    """What a walk finds, driven to its end."""
    while True:
        try:
            next(walk)
        except StopIteration as end:
            found: Found = end.value
            return found


def prove(candidates: Candidates, *, wanted: int) -> Proof:
    """Find the best settings that fit, and prove that no other is better; see `proof_walk`."""
    return finished(proof_walk(candidates, wanted=wanted))


def proof_walk(candidates: Candidates, *, wanted: int) -> Walk[Proof]:
    """Find the best settings that fit, and prove that no other is better.

    Parameters
    ----------
    candidates : Candidates
        The settings and what is known about them; what the walk finds out is added.
    wanted : int
        How many fitting settings to name.

    Returns
    -------
    Proof
        The leading group (within `RESOLUTION` of the best that fits) comes in order of effort,
        then the others by peak.
    """
    order = by_bound(candidates, candidates.allowed)
    best_peak, refused = yield from first_fit(candidates, order)
    group = yield from solved_below(candidates, order, best_peak + RESOLUTION)
    fitting = simplest_fits(candidates, group, wanted)
    if fitting.size < wanted:
        more = yield from _next_fits(candidates, order, group, wanted - fitting.size)
        fitting = np.concatenate([fitting, more])
    return Proof(fitting, refused, best_peak)


def good_enough(best: float, tolerance: float, alike: float = RESOLUTION) -> float:
    """Peak up to which other things than the peak may decide, where the best is `best`. [rad].

    What lies within `alike` of a best that meets the tolerance, and meets it too; what no gauge
    tells from a best that misses it.
    """
    return best + RESOLUTION if best > tolerance else min(tolerance, best + alike)


def by_bound(candidates: Candidates, rows: Rows) -> Rows:
    """Rows in order of the least peak that each could have, those with the same by estimate."""
    estimate, least = candidates.estimates
    return rows[np.lexsort((estimate[rows], least[rows]))]


def first_fit(
    candidates: Candidates, order: Rows, first: int = BLOCK, times: int = 2
) -> Walk[tuple[float, Rows]]:
    """Exact peak of the best of the rows that fits, [rad], and the better ones that don't.

    Those of them that keep every limit as measured come first.  `first` is how many to look at
    first, and `times` how much more each time.
    """
    best, looked = np.inf, order[:0]
    least = candidates.estimates[1]
    for part in _blocks(order.size, MOST_AT_ENDS, first, times):
        if least[order[part.start]] > best:
            break
        looked = order[: part.stop]
        block = order[part]
        candidates.find_peaks(block)
        block = block[candidates.peak[block] < best]
        candidates.find_broken(block)
        block = block[np.argsort(candidates.peak[block], kind="stable")]
        good = _fitting(candidates, block, 1)
        best = min(best, candidates.peak[good].min(initial=np.inf))
        yield order[part]
    worse = (candidates.violation[looked] > 0.0) & (candidates.peak[looked] < best)
    refused = looked[worse]
    order = np.lexsort((candidates.peak[refused], candidates.breaks(refused)))
    return float(best), refused[order]


def solved_below(candidates: Candidates, order: Rows, peak: float) -> Walk[Rows]:
    """Every one of the rows, given in order of bound, whose exact peak is at most `peak`."""
    if not np.isfinite(peak):
        return order[:0]
    least = candidates.estimates[1][order]
    possible = order[: np.searchsorted(least, peak, side="right")]
    candidates.find_peaks(possible)
    yield possible
    return possible[candidates.peak[possible] <= peak]


def simplest_fits(candidates: Candidates, rows: Rows, wanted: int) -> Rows:
    """First `wanted` of the rows that keep every limit, in order of effort, equal ones by peak."""
    keys = [*candidates.effort[:, rows], candidates.peak[rows]]
    return _fitting(candidates, rows[np.lexsort(keys[::-1])], wanted)


def least_work_fit(candidates: Candidates, rows: Rows) -> Rows:
    """The row that keeps every limit with the least work; none or one.

    Of those with the same work the best, as far as a gauge tells, and of these the simplest.
    """
    keys = candidates.effort[: WORK + 1, rows]
    for work in np.unique(keys, axis=1).T:
        same = rows[(keys == work[:, None]).all(axis=0)]
        same = same[np.argsort(candidates.peak[same], kind="stable")]
        best = _fitting(candidates, same, 1)
        if best.size:
            near = same[candidates.peak[same] <= candidates.peak[best[0]] + RESOLUTION]
            return simplest_fits(candidates, near, 1)
    return rows[:0]


def _blocks(
    rows: int, most: int = MOST_AT_A_TIME, first: int = BLOCK, times: int = 2
) -> Iterator[slice]:
    """Parts of a walk, each `times` as long as the one before, up to `most`."""
    start, size = 0, first
    while start < rows:
        yield slice(start, min(start + size, rows))
        start, size = start + size, min(times * size, most)


def _fitting(candidates: Candidates, rows: Rows, wanted: int) -> Rows:
    """First `wanted` of the rows that keep every limit."""
    found = np.empty(0, dtype=np.intp)
    for part in _blocks(rows.size):
        block = rows[part]
        found = np.concatenate([found, block[candidates.fits(block)]])
        if found.size >= wanted:
            break
    return found[:wanted]


def _next_fits(candidates: Candidates, order: Rows, group: Rows, wanted: int) -> Walk[Rows]:
    """Fitting rows after the leading group, by exact peak."""
    least = candidates.estimates[1]
    done = np.zeros(candidates.peak.size, dtype=bool)
    done[group] = True
    found = np.empty(0, dtype=np.intp)
    for part in _blocks(order.size):
        last = np.sort(candidates.peak[found])[wanted - 1] if found.size >= wanted else np.inf
        if least[order[part.start]] > last:
            break
        block = order[part]
        block = block[~done[block]]
        candidates.find_peaks(block)
        block = block[candidates.peak[block] <= last]
        found = np.concatenate([found, block[candidates.fits(block)]])
        yield order[part]
    return found[np.argsort(candidates.peak[found], kind="stable")][:wanted]
