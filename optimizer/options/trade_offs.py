"""Trade-offs: which settings no other beats on all counts.

The counts are peak toe change, what is asked of the workshop, clearance, and how much the steering
ratio changes.  One setting beats another where it is no worse on any count and better on one;
differences too small for a report to print count as none.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import Rows
from optimizer.models.case import Case
from optimizer.options.candidates import Candidates

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
    everything = np.arange(len(candidates.space.settings))
    return Rivals([candidates], [everything]).unbeaten(0, rows)


class Rivals:
    """Settings of one or more spaces by their counts; limits are looked at only where they decide.

    The spaces are of one car, each with its own hardware; `allowed` are the rows of each that may
    be fitted.
    """

    def __init__(self, spaces: Sequence[Candidates], allowed: Sequence[Rows]) -> None:
        self.spaces, self.allowed, self.checks_left = spaces, allowed, MOST_CHECKED
        effort = np.hstack([candidates.space.effort() for candidates in spaces])
        ranks = np.unique(effort, axis=1, return_inverse=True)[1].ravel()
        ends = np.cumsum([len(candidates.space.settings) for candidates in spaces])
        self.effort = np.split(ranks, ends[:-1])
        self.rate_change = [rate_change(candidates) for candidates in spaces]

    def unbeaten(self, place: int, rows: Rows) -> list[bool | None]:
        """Whether no setting of any space that fits beats a row of one, see `unbeaten_rows`."""
        fits = self.spaces[place].fits(rows)
        self.spaces[place].find_clearances(rows[fits])
        return [
            self._none_beats(self._counts(place, row)[0]) if fit else False
            for row, fit in zip(rows[:, None], fits, strict=True)
        ]

    def _none_beats(self, own: Array) -> bool | None:
        """Whether no setting of any space beats one by its counts (4,)."""
        told = [self._none_of_space_beats(place, own) for place in range(len(self.spaces))]
        if False in told:
            return False
        return None if None in told else True

    def _none_of_space_beats(self, place: int, own: Array) -> bool | None:
        candidates, rows = self.spaces[place], self.allowed[place]
        rate_steps = np.round(np.abs(self.rate_change[place][rows]) / RATE_STEP)
        rivals = rows[(self.effort[place][rows] <= own[0]) & (rate_steps <= own[3])]
        if rivals.size > MOST_SOLVED:
            return None
        candidates.find_peaks(rivals)
        rivals = rivals[np.round(candidates.peak[rivals] / PEAK_STEP) <= own[1]]
        for start in range(0, rivals.size, AT_A_TIME):
            block = rivals[start : start + AT_A_TIME]
            self.checks_left -= int(np.count_nonzero(np.isnan(candidates.violation[block])))
            if self.checks_left < 0:
                return None
            hopeful = block[candidates.fits(block)]
            hopeful = hopeful[_beats(self._counts(place, hopeful), own)]
            candidates.find_clearances(hopeful)
            if _beats(self._counts(place, hopeful), own).any():
                return False
        return True

    def _counts(self, place: int, rows: Rows) -> Array:
        """Effort, peak, clearance and change of the steer rate of rows that fit, (N, 4) steps."""
        candidates = self.spaces[place]
        candidates.find_peaks(rows)
        change = self.rate_change[place][rows]
        steps = in_steps(candidates.peak[rows], candidates.clearance[rows], change)
        return np.column_stack([self.effort[place][rows], steps])


def _beats(counts: Array, row: Array) -> NDArray[np.bool_]:
    """Whether each of the rows (M, K) is as low as a row (K,) on every count and lower on one."""
    beating: NDArray[np.bool_] = np.all(counts <= row, axis=1) & np.any(counts < row, axis=1)
    return beating
