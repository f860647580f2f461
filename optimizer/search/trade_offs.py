"""Trade-offs: which settings no other beats on all counts.

The counts are peak toe change, what is asked of the workshop, clearance, and how much the steering
ratio changes.  One setting beats another where it is no worse on any count and better on one;
differences too small for a report to print count as none.
"""

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.adjust import Rows
from optimizer.limits import Margin
from optimizer.models.case import Case
from optimizer.search.candidates import Candidates

PEAK_STEP = float(np.radians(1e-3))
CLEARANCE_STEP = 0.1  # mm
RATE_STEP = 1e-3  # share of the steer rate
MOST_SOLVED = 200_000  # settings that are solved exactly to judge one
MOST_CHECKED = 2048  # settings whose limits one answer may ask for, about a millisecond each
AT_A_TIME = 32


def unbeaten(counts: Array) -> NDArray[np.bool_]:
    """Whether no other row is as low on every count and lower on one, (M, K) to (M,)."""
    return np.array([not _beats(counts, row).any() for row in counts], dtype=bool)


def in_steps(peak: Array, clearance: Array, rate_change: Array) -> Array:
    """Peak, clearance and change of the steer rate in whole steps, smaller is better, (M, 3).

    Parameters
    ----------
    peak : (M,) float array
        Peak toe change. [rad]
    clearance : (M,) float array
        Smallest gap; infinite where no obstacle is stated. [mm]
    rate_change : (M,) float array
        Steer rate over that of the car as it is, less 1.
    """
    steps = (peak / PEAK_STEP, -clearance / CLEARANCE_STEP, np.abs(rate_change) / RATE_STEP)
    return np.stack([np.round(count) for count in steps], axis=-1)


def clearance(margins: list[Margin], rows: int) -> Array:
    """Smallest gap of each of the candidates, (M,); infinite where no obstacle is stated. [mm]."""
    gaps = [margin.value for margin in margins if margin.kind == "gap"]
    return np.min(gaps, axis=0) if gaps else np.full(rows, np.inf)


def rate_change(candidates: Candidates) -> Array:
    """Steer rate of each row over that of the car as it is, less 1, (M,); 0 on a rear axle."""
    rate = candidates.evaluator.steer_rate(candidates.space.settings)
    return share_changed(rate, float(rate[candidates.space.left]), candidates.evaluator.case)


def share_changed(rate: Array, as_is: float, case: Case) -> Array:
    """Steer rates over that of the car as it is, less 1; 0 on a rear axle, where none counts."""
    change: Array = rate / as_is - 1.0
    return change if case.words.steers else np.zeros_like(rate)


def unbeaten_rows(candidates: Candidates, rows: Rows) -> list[bool | None]:
    """Whether no setting of the space that fits beats a row.

    Parameters
    ----------
    candidates : Candidates
        A space and what is known about it; what is found out on the way is added.
    rows : (N,) int array
        Rows to judge.

    Returns
    -------
    list of bool or None
        False for a row that does not fit itself; None where more than `MOST_SOLVED` settings would
        have to be solved, or more than `MOST_CHECKED` checked against the limits, to tell.
    """
    rivals = _Rivals(candidates)
    fits = candidates.fits(rows)
    return [
        rivals.none_beats(int(row)) if fit else False for row, fit in zip(rows, fits, strict=True)
    ]


class _Rivals:
    """All settings of a space by their counts; limits are looked at only where they decide."""

    def __init__(self, candidates: Candidates) -> None:
        self.candidates = candidates
        self.checks_left = MOST_CHECKED
        effort = candidates.space.effort()
        self.effort = np.unique(effort, axis=1, return_inverse=True)[1].ravel()
        self.rate_change = rate_change(candidates)

    def none_beats(self, row: int) -> bool | None:
        """Whether no other setting that fits beats a row that fits."""
        candidates, own = self.candidates, self._counts(np.array([row]))[0]
        rate_steps = np.round(np.abs(self.rate_change) / RATE_STEP)
        rivals = np.flatnonzero((self.effort <= own[0]) & (rate_steps <= own[3]))
        if rivals.size > MOST_SOLVED:
            return None
        candidates.find_peaks(rivals)
        rivals = rivals[np.round(candidates.peak[rivals] / PEAK_STEP) <= own[1]]
        for start in range(0, rivals.size, AT_A_TIME):
            block = rivals[start : start + AT_A_TIME]
            self.checks_left -= int(np.count_nonzero(np.isnan(candidates.violation[block])))
            if self.checks_left < 0:
                return None
            if _beats(self._counts(block[candidates.fits(block)]), own).any():
                return False
        return True

    def _counts(self, rows: Rows) -> Array:
        """Effort, peak, clearance and change of the steer rate of rows that fit, (N, 4) steps."""
        candidates = self.candidates
        candidates.find_peaks(rows)
        steps = in_steps(candidates.peak[rows], candidates.clearance[rows], self.rate_change[rows])
        return np.column_stack([self.effort[rows], steps])


def _beats(counts: Array, row: Array) -> NDArray[np.bool_]:
    """Whether each of the rows (M, K) is as low as a row (K,) on every count and lower on one."""
    beating: NDArray[np.bool_] = np.all(counts <= row, axis=1) & np.any(counts < row, axis=1)
    return beating
