"""Slips that a sweep's own smoothness tells: lost minus signs, rows changed over, a slipped gauge.

Nothing of the car need be known: rows lie on a smooth curve, and would on a far smoother one with
the slip undone.
"""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from geometry.vectors import Array
from optimizer.gauging.measured import DEGREE, FEWEST_TO_TELL, LEAST_APART, UNLIKE

FEWEST_ROWS = 5
LEFT_OVER = 1.0 / 3.0  # of the scatter as typed is all that undoing a slip may leave
ROUGH, SMOOTH = 0.02, 0.03  # of a column's range: what scatters more may be a slip, less is none
FEWEST_SLIPPED = 2  # rows on either side; one alone stands apart
HALF_LEFT = 0.5  # of the scatter as typed is all that undoing a slip of the gauge may leave
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


def gauge_slipped(travel: Array, toe: Array) -> tuple[float, float, float] | None:
    """Two heights read next to each other, and by how much all toe above the second is beside.

    As where a gauge slips, or a turn of its hand goes uncounted, and all that is read on it after
    is off by the same. `travel` [mm] and `toe` [rad], (N,) each; [mm, mm, rad].
    """
    if len(travel) < FEWEST_ROWS:
        return None
    order = np.argsort(travel, kind="stable")
    heights, curves = travel[order], _curves(travel[order])
    left, free = _beside(curves, toe[order]), len(travel) - curves.shape[1] - 1
    # Of a step up at a row, what the curves don't take up, and what is left along that.
    size = np.arange(len(travel), 0, -1) - (_from_each_on(curves) ** 2).sum(axis=1)
    places = np.flatnonzero((np.diff(heights, prepend=heights[0]) > 0.0) & (size > ROUNDING))
    places = places[(places >= FEWEST_SLIPPED) & (places <= len(travel) - FEWEST_SLIPPED)]
    if free < FEWEST_TO_TELL or not places.size:
        return None
    steps = _from_each_on(left)[places] / size[places]
    at = int(np.argmax(steps**2 * size[places]))
    as_typed, gain = left @ left, steps[at] ** 2 * size[places[at]]
    likelier = UNLIKE + np.log(places.size)  # that any of so many places must be
    most = as_typed * min(np.exp(-2.0 * likelier / free), HALF_LEFT**2)
    if abs(steps[at]) < LEAST_APART or as_typed - gain > most:
        return None
    return float(heights[places[at] - 1]), float(heights[places[at]]), float(steps[at])


def _from_each_on(rows: Array) -> Array:
    """Sum of each row and all after it."""
    sums: Array = np.cumsum(rows[::-1], axis=0)[::-1]
    return sums


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
