"""Slips of the pen that a sweep's own smoothness tells: lost minus signs, two rows changed over.

Nothing of the car need be known: rows lie on a smooth curve, and would on a far smoother one with
the slip undone.
"""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from geometry.vectors import Array
from optimizer.gauging.measured import DEGREE

FEWEST_ROWS = 5
LEFT_OVER = 1.0 / 3.0  # of the scatter as typed is all that undoing a slip may leave
ROUGH, SMOOTH = 0.02, 0.03  # of a column's range: what scatters more may be a slip, less is none
MOST_DIPS = 6  # of a column, at which its sign may change
ROUNDING = 1e-12  # heights that differ by less of their range are one
LEAST_SCATTER = float(np.radians(0.02))  # of toe; below it two rows changed over do no harm


def columns_without_minus(travel: Array, columns: Array) -> Iterator[int]:
    """Columns that never go below 0, but would be smooth if they did, once or on both ends.

    Parameters
    ----------
    travel : (N,) float array
        Wheel travel. [mm]
    columns : (N, C) float array
        What the gauge showed at it.
    """
    if len(travel) < FEWEST_ROWS:
        return
    order = np.argsort(travel, kind="stable")
    curves = _curves(travel[order])
    for place, column in enumerate(columns[order].T):
        reach = float(np.ptp(column))
        as_typed = _scatter(curves, column)
        if (column < 0.0).any() or as_typed <= ROUGH * reach:
            continue
        undone = min((_scatter(curves, signs * column) for signs in _signs(column)), default=np.inf)
        if undone < min(LEFT_OVER * as_typed, SMOOTH * reach):
            yield place


def rows_changed_over(travel: Array, toe: Array) -> tuple[int, int] | None:
    """The two rows, next to each other as typed, whose toe lies on the curve as each other's.

    `travel` [mm] and `toe` [rad], (N,) each, in the order in which they were typed.
    """
    if len(travel) < FEWEST_ROWS:
        return None
    curves = _curves(travel)
    left, rise = _beside(curves, toe), np.diff(toe)
    # Changing two rows over moves what is left of them by all that the curves don't take up.
    apart, free = np.diff(left), len(travel) - curves.shape[1]
    square = left @ left - 2.0 * rise * apart + rise**2 * (2.0 - (np.diff(curves.T) ** 2).sum(0))
    at = int(np.argmin(square))
    undone = float(np.sqrt(max(square[at], 0.0) / free))
    as_typed = _scatter(curves, toe)
    changed = as_typed > LEAST_SCATTER and undone < LEFT_OVER * as_typed
    return (at, at + 1) if changed else None


def _curves(travel: Array) -> Array:
    """What smooth curves through all rows are made of, square to each other, (N, T)."""
    reach = max(float(np.abs(travel).max()), 1e-9)
    terms = np.vander(travel / reach, min(DEGREE, len(travel) - 3) + 1)
    across, size, _ = np.linalg.svd(terms, full_matrices=False)
    told: Array = across[:, size > size[0] * ROUNDING]
    return told


def _beside(curves: Array, read: Array) -> Array:
    """How far rows lie beside the best of the curves, (N,)."""
    left: Array = read - curves @ (curves.T @ read)
    return left


def _scatter(curves: Array, read: Array) -> float:
    left = _beside(curves, read)
    return float(np.sqrt(left @ left / (len(read) - curves.shape[1])))


def _signs(column: Array) -> Iterator[Array]:
    """Signs (N,) that rows may have had, lowest height first: they change where a column dips."""
    beside = np.pad(column, 1, constant_values=np.inf)
    dips = np.flatnonzero((column <= beside[:-2]) & (column <= beside[2:]))
    deepest = dips[np.argsort(column[dips], kind="stable")][:MOST_DIPS]
    changes = sorted({int(at) for dip in deepest for at in (dip, dip + 1)} - {0, len(column)})
    for many in (1, 2):
        for ats in combinations(changes, many):
            below = np.searchsorted(ats, np.arange(len(column)), side="right") % 2 == 1
            yield np.where(below, -1.0, 1.0)
