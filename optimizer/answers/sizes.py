"""Which range, step and length of stud would serve most wheels at most ride heights."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from optimizer.models.screen import (
    Interval,
    LengthServed,
    RangeServed,
    RangesServed,
    Sizes,
    StepServed,
)
from optimizer.options.working_stacks import STACKS_MM

LENGTHS_MM = tuple(5.0 * k for k in range(1, 13))
STEPS_MM = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0)
WIDTHS_MM = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0)
MOST_RANGES = 3
TINY = 1e-9

Runs = tuple[Interval, ...]
Flags = NDArray[np.bool_]
Counts = NDArray[np.int64]


def sizes_of(windows: Mapping[Runs, int]) -> Sizes:
    """Count what stacks of any make would serve.

    Parameters
    ----------
    windows : mapping
        Runs of stacks that would do at a place, a wheel at a ride height, and how many places have
        the same. [mm]

    Returns
    -------
    Sizes
        Of the places that any stack serves, how many each length, step and set of ranges serves.
    """
    possible = {runs: count for runs, count in windows.items() if runs}
    works = np.array([_flags(runs) for runs in possible]).reshape(-1, STACKS_MM.size)
    counts = np.array(list(possible.values()), dtype=np.int64)
    return Sizes(
        places=sum(windows.values()),
        possible=int(counts.sum()),
        lengths=[
            LengthServed(longest_mm=most, served=_served(works, counts, most + TINY >= STACKS_MM))
            for most in LENGTHS_MM
        ],
        steps=[
            StepServed(step_mm=step, served=_served(works, counts, _multiple(step)))
            for step in STEPS_MM
        ],
        ranges=[_ranges(works, counts, width) for width in WIDTHS_MM],
    )


def _flags(runs: Runs) -> Flags:
    found = np.zeros(STACKS_MM.size, dtype=bool)
    for low, high in runs:
        found |= (low - TINY <= STACKS_MM) & (high + TINY >= STACKS_MM)
    return found


def _served(works: Flags, counts: Counts, built: Flags) -> int:
    """How many places, `works` (N, S) of each kind, one of the heights built serves, (S,)."""
    return int(counts[works[:, built].any(axis=1)].sum())


def _multiple(step: float) -> Flags:
    """Heights that are whole steps from the standard seat."""
    steps = STACKS_MM / step
    whole: Flags = np.abs(steps - np.round(steps)) < TINY
    return whole


def _ranges(works: Flags, counts: Counts, width: float) -> RangesServed:
    """Ranges of a width, each the one that serves most of what is left."""
    long = round(width / float(STACKS_MM[1] - STACKS_MM[0])) + 1
    sums = np.cumsum(np.pad(works, ((0, 0), (1, 0))), axis=1, dtype=np.int16)
    serves = sums[:, long:] > sums[:, :-long]
    left, found = counts.copy(), list[RangeServed]()
    while left.any() and len(found) < MOST_RANGES:
        first = int(np.argmax(left @ serves))
        left[serves[:, first]] = 0
        low, high = STACKS_MM[[first, first + long - 1]].tolist()
        served = int(counts.sum() - left.sum())
        found.append(RangeServed(min_mm=low, max_mm=high, served=served))
    return RangesServed(width_mm=width, ranges=found)
