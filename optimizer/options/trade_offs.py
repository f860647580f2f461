"""Trade-offs: which options no other beats on all counts.

The counts are peak toe change, what is asked of the workshop, clearance, and how much the steering
ratio changes; of two wheels the worse one's.  One option beats another where it is no worse on any
count and better on one; differences too small for a report to print count as none.

Within a lot each wheel may be chosen for itself, so an option is beaten where the settings that ask
least, of those of each wheel that are good enough on the other counts, ask no more together.
"""

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.settings import Rows
from optimizer.options.candidates import Candidates
from optimizer.options.dimensions import Option, OptionSpace

PEAK_STEP = float(np.radians(1e-3))
CLEARANCE_STEP = 0.1  # mm
RATE_STEP = 1e-3  # share of the steer rate
MOST_SOLVED = 200_000  # settings that are solved exactly to judge one
MOST_CHECKED = 2048  # settings whose limits one answer may ask for, about a millisecond each
AT_A_TIME = 32
STRICTLY = np.vstack([np.zeros(3), np.eye(3)])  # steps by which one count must be better


class TooMany(Exception):
    """More would have to be looked at than is worth it."""


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


class Rivals(Struct, dict=True):
    """What may beat an option; limits are looked at only where they decide."""

    space: OptionSpace
    checks_left: int = MOST_CHECKED
    asked: list[tuple[Array, list[float]]] = field(default_factory=list)  # their counts and effort

    def unbeaten(self, option: Option) -> bool | None:
        """Whether no option that fits beats one.

        False for an option that does not fit itself; None where more than `MOST_SOLVED` settings
        would have to be solved, or more than `MOST_CHECKED` checked against the limits, to tell.
        """
        if not self.space.fits(option):
            return False
        counts, effort = self._counts(option), self.space.effort(option)
        if self._one_asked_beats(counts, effort.tolist()):
            return False
        self.asked.append((counts, effort.tolist()))
        beaten: list[bool | None] = []
        for strictly in STRICTLY:
            if np.isfinite(counts[strictly > 0.0]).all():
                equal = bool(strictly.any())
                beaten.append(self._one_asks_less(counts - strictly, effort, or_as_much=equal))
                if beaten[-1]:
                    return False
        return None if None in beaten else True

    def _one_asked_beats(self, counts: Array, effort: list[float]) -> bool:
        """Whether an option that was asked for before beats one; with many kits one often does."""
        return any(
            least < effort or (least == effort and bool((other < counts).any()))
            for other, least in self.asked
            if bool((other <= counts).all())
        )

    def _one_asks_less(self, counts: Array, effort: Array, *, or_as_much: bool) -> bool | None:
        """Whether an option, good enough by its counts, asks less, or as much; None if too many."""
        possible = [_possible(wheel, counts, effort) for wheel in self.space.wheels]
        told: bool | None = False
        for rows in self._of_lots(possible):
            try:
                if self._asks_less(rows, counts, effort, or_as_much=or_as_much):
                    return True
            except TooMany:
                told = None
        return told

    def _of_lots(self, possible: Sequence[NDArray[np.bool_]]) -> Iterator[list[Rows]]:
        """Possible rows of each wheel, lot by lot; of one wheel all at once, if they are few."""
        if len(possible) == 1:
            every = np.flatnonzero(possible[0] & self._in_lots)
            if every.size <= MOST_SOLVED:
                yield [every]
                return
        for lot in self.space.lots:
            yield [some[kept[some]] for kept, some in zip(possible, lot.rows, strict=True)]

    @cached_property
    def _in_lots(self) -> NDArray[np.bool_]:
        """Whether each row of the only wheel is in a lot, (M,)."""
        (wheel,) = self.space.wheels
        found = np.zeros(wheel.peak.size, dtype=bool)
        found[np.concatenate([lot.rows[0] for lot in self.space.lots])] = True
        return found

    def _asks_less(
        self, of_wheels: list[Rows], counts: Array, effort: Array, *, or_as_much: bool
    ) -> bool:
        """Whether an option of a lot asks less, or as much."""
        if not all(rows.size for rows in of_wheels):
            return False
        found = []
        for wheel, rows in zip(self.space.wheels, of_wheels, strict=True):
            row = self._least_asking(wheel, rows, counts)
            if row is None:
                return False
            found.append(row)
        least = self.space.effort(Option(tuple(found))).tolist()
        return bool(least < effort.tolist() or (or_as_much and least == effort.tolist()))

    def _least_asking(self, wheel: Candidates, rows: Rows, counts: Array) -> int | None:
        """Of a wheel's possible settings that fit and are good enough, the one that asks least."""
        peak, gap, _ = counts
        if rows.size > MOST_SOLVED:
            raise TooMany
        wheel.find_peaks(rows)
        rows = rows[np.round(wheel.peak[rows] / PEAK_STEP) <= peak]
        rows = rows[np.lexsort(wheel.effort[::-1, rows])]
        for start in range(0, rows.size, AT_A_TIME):
            block = rows[start : start + AT_A_TIME]
            self.checks_left -= int(np.count_nonzero(np.isnan(wheel.violation[block])))
            if self.checks_left < 0:
                raise TooMany
            good = _wide_enough(wheel, block[wheel.fits(block)], gap)
            wheel.find_clearances(good)
            good = _wide_enough(wheel, good, gap)
            if good.size:
                return int(good[0])
        return None

    def _counts(self, option: Option) -> Array:
        """Peak, clearance and change of the steer rate of an option that fits, (3,) steps."""
        wheels = list(zip(self.space.wheels, option.rows, strict=True))
        for wheel, row in wheels:
            wheel.find_peaks(np.array([row]))
            wheel.find_clearances(np.array([row]))
        each = [
            in_steps(wheel.peak[row], wheel.clearance[row], wheel.rate_change[row])
            for wheel, row in wheels
        ]
        counts: Array = np.max(each, axis=0)
        return counts


def _possible(wheel: Candidates, counts: Array, effort: Array) -> NDArray[np.bool_]:
    """Whether each of a wheel's settings may be good enough by counts and ask no more, (M,)."""
    peak, _, rate = counts
    near: NDArray[np.bool_] = wheel.estimates[1] <= (peak + 0.5) * PEAK_STEP
    near &= np.round(np.abs(wheel.rate_change) / RATE_STEP) <= rate
    rows = np.flatnonzero(near)
    near[rows] = _at_most(wheel.effort[:, rows], effort)
    return near


def _wide_enough(wheel: Candidates, rows: Rows, gap: float) -> Rows:
    """Those of the rows whose clearance, as far as it is known, is no smaller. [steps]."""
    return rows[np.round(-wheel.clearance[rows] / CLEARANCE_STEP) <= gap]


def _at_most(effort: Array, most: Array) -> NDArray[np.bool_]:
    """Whether rows (6, M) ask no more than (6,), the heaviest key that differs deciding."""
    differs = effort != most[:, None]
    first = np.argmax(differs, axis=0)
    fewer: NDArray[np.bool_] = effort[first, np.arange(effort.shape[1])] <= most[first]
    return fewer


def _beats(counts: Array, row: Array) -> NDArray[np.bool_]:
    """Whether each of the rows (M, K) is as low as a row (K,) on every count and lower on one."""
    beating: NDArray[np.bool_] = np.all(counts <= row, axis=1) & np.any(counts < row, axis=1)
    return beating
