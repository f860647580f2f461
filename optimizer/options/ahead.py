"""Many walks looked ahead of: what each will ask for next is found in one batch for all of them.

Nothing is decided here.  The walks of `proof` then find that what they ask for is known.
"""

from collections.abc import Sequence

import numpy as np

from optimizer.car.settings import Rows
from optimizer.options.candidates import WORK, Candidates
from optimizer.options.proof import BLOCK, FASTER, FEW, MOST_AT_ENDS


def first_fits_ahead(wheel: Candidates, orders: Sequence[Rows]) -> list[bool]:
    """Find what `first_fit` asks for on each of many walks over a wheel's rows.

    Like the others tells of each walk whether the other wheel's is asked for as well.
    """
    best, least = np.full(len(orders), np.inf), wheel.estimates[1]
    walking, start, size = list(range(len(orders))), 0, FEW
    while walking:
        blocks = [orders[k][start : start + size] for k in walking]
        wheel.solve(np.concatenate(blocks))
        better = [
            block[wheel.peak[block] < best[k]] for k, block in zip(walking, blocks, strict=True)
        ]
        wheel.find_broken(np.concatenate(better))
        better = [rows[np.argsort(wheel.peak[rows], kind="stable")] for rows in better]
        fits_ahead(wheel, better)
        for k, rows in zip(walking, better, strict=True):
            fitting = wheel.peak[rows[wheel.violation[rows] == 0.0]]
            best[k] = min(best[k], fitting.min(initial=np.inf))
        start, size = start + size, min(FASTER * size, MOST_AT_ENDS)
        walking = [
            k for k in walking if start < orders[k].size and least[orders[k][start]] <= best[k]
        ]
    return [True] * len(orders)


def fits_ahead(wheel: Candidates, queues: Sequence[Rows]) -> None:
    """Find what tells the first row that fits of each of many queues."""
    queues, size = [rows for rows in queues if rows.size], BLOCK
    while queues:
        wheel.find_limits(np.concatenate([rows[:size] for rows in queues]))
        queues = [
            rows[size:] for rows in queues if rows.size > size and not _one_fits(wheel, rows[:size])
        ]


def simplest_ahead(wheel: Candidates, orders: Sequence[Rows], limit: float) -> list[bool]:
    """Find what `simplest_fits` asks for of what peaks within a limit, on each of many walks."""
    queues = solved_within(wheel, orders, limit)
    keys = [[wheel.peak[rows], *wheel.effort[::-1, rows]] for rows in queues]
    fits_ahead(wheel, [rows[np.lexsort(key)] for rows, key in zip(queues, keys, strict=True)])
    return [_one_fits(wheel, rows) for rows in queues]


def least_work_ahead(wheel: Candidates, orders: Sequence[Rows], limit: float) -> list[bool]:
    """Find what `least_work_fit` asks for of what peaks within a limit, on each of many walks."""
    of_each = solved_within(wheel, orders, limit)
    queues = [_by_work(wheel, rows) for rows in of_each if rows.size]
    while queues:
        fits_ahead(wheel, [levels[0] for levels in queues])
        queues = [
            levels[1:] for levels in queues if len(levels) > 1 and not _one_fits(wheel, levels[0])
        ]
    return [_one_fits(wheel, rows) for rows in of_each]


def _one_fits(wheel: Candidates, rows: Rows) -> bool:
    """Whether one of the rows is known to fit."""
    return bool((wheel.violation[rows] == 0.0).any())


def solved_within(wheel: Candidates, orders: Sequence[Rows], limit: float) -> list[Rows]:
    """Rows whose exact peak is within a limit, of each of many walks in order of bound."""
    least = wheel.estimates[1]
    possible = [order[: np.searchsorted(least[order], limit, side="right")] for order in orders]
    wheel.solve(np.concatenate(possible))
    return [rows[wheel.peak[rows] <= limit] for rows in possible]


def _by_work(wheel: Candidates, rows: Rows) -> list[Rows]:
    """Rows that ask the same work, the least first; each lot of them by peak."""
    levels, of_row = np.unique(wheel.effort[: WORK + 1, rows], axis=1, return_inverse=True)
    same = [rows[of_row.ravel() == level] for level in range(levels.shape[1])]
    return [some[np.argsort(wheel.peak[some], kind="stable")] for some in same]
