"""One wheel's settings over ride heights: the best of every lot at every height, in one walk.

A lot is one alternative of hardware with one of what the wheels share, as in `dimensions`.  Each at
each height is walked as in `proof`, from the best estimate down until nothing left can beat what
was found to fit.  The steps of all walks are taken together, so that a setting that several lots
ask for at a height is solved and checked once, in one batch with the others.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.ride_heights import RideHeights
from optimizer.car.settings import Rows, Settings, joined_settings
from optimizer.models.case import Case
from optimizer.options.estimates import estimated_peaks
from optimizer.options.hardware_margins import (
    HardwareMargins,
    fitting_violations,
    hardware_margins,
)
from optimizer.options.pair_margins import SettingsAtHeights

ONE_BY_ONE = 4  # settings of each walk before the steps double
SOLVED_AHEAD = 16  # settings solved before their turn: a few at a time cost as much as many


class BestAtHeights(Struct, frozen=True):
    """The best of each of N lots, or alternatives of hardware, at each of L heights, all (N, L).

    `setting` is the number of the one with the smallest peak that keeps every limit, -1 where none
    does, and `peak` that peak, infinite where none does. [rad]  `nearest` is, of the settings
    within the tolerance that break a limit, the one that breaks it least at the stage that showed
    it, by `violation`; -1 and infinite where there is none.  Where a band is wanted it is of all
    settings.
    """

    setting: Rows
    peak: Array
    nearest: Rows
    violation: Array

    def of_hardware(self, hardware: Rows) -> "BestAtHeights":
        """The best of each alternative, from that of its lots; `hardware` (N,) are theirs."""
        best, near = least_lots(self.peak, hardware), least_lots(self.violation, hardware)
        place = np.arange(self.peak.shape[1])
        return BestAtHeights(
            self.setting[best, place],
            self.peak[best, place],
            self.nearest[near, place],
            self.violation[near, place],
        )


def least_lots(of_lots: Array, hardware: Rows) -> Rows:
    """Lot of each of K alternatives that has the least at each height, (N, L) to (K, L).

    `hardware` (N,) tells which alternative each lot is of.
    """
    lots = [np.flatnonzero(hardware == number) for number in range(hardware[-1] + 1)]
    return np.array([some[np.argmin(of_lots[some], axis=0)] for some in lots])


class _Walk(Struct):
    """One lot at all heights: its settings in order of estimate, and where it stands."""

    limits: HardwareMargins
    order: Rows
    least: Array
    walking: Rows
    best: Rows
    peak: Array
    nearest: Rows
    violation: Array

    def next_settings(self, block: slice) -> tuple[Rows, Rows]:
        """Heights that are still walked, and settings in their order there, one for each."""
        settings = self.order[self.walking, block]
        return np.repeat(self.walking, settings.shape[1]), settings.ravel()

    def goes_on(self, seen: int) -> NDArray[np.bool_]:
        """Whether a setting not yet seen may still beat the best at each height walked."""
        if seen >= self.order.shape[1]:
            return np.zeros(self.walking.size, dtype=bool)
        least = self.least[self.walking, seen]
        going: NDArray[np.bool_] = np.isfinite(least) & (least <= self.peak[self.walking])
        return going


class WheelAtHeights:
    """What one wheel may have fitted at L heights.

    `cases` are the wheel's with each alternative of hardware; a lot is the number of its
    alternative, and settings.  All settings stand once in `pairs`, numbered through.
    """

    def __init__(
        self, heights: RideHeights, cases: Sequence[Case], lots: Sequence[tuple[int, Settings]]
    ) -> None:
        self.heights = heights
        settings, self._of_lot = _distinct([settings for _, settings in lots])
        self.pairs = SettingsAtHeights(heights, settings, len(settings))
        self.limits = hardware_margins(self.pairs, cases)
        self.hardware = np.array([number for number, _ in lots])
        self.exact = np.full((heights.lowered_by.size, len(settings)), np.nan)
        self.tolerance = np.radians(heights.case.aim.tolerance_deg)
        self.near_enough = self.tolerance if heights.case.aim.band is None else np.inf

    def best(self) -> BestAtHeights:
        """Walk until the best setting of every lot at every height is proved."""
        estimate, least = self._estimates()
        walks = [
            self._started(self.limits[number], numbers, estimate, least)
            for number, numbers in zip(self.hardware, self._of_lot, strict=True)
        ]
        seen, step = 0, 1
        while any(walk.walking.size for walk in walks):
            self._step(walks, slice(seen, seen + step))
            seen += step
            step = 1 if seen < ONE_BY_ONE else seen
            for walk in walks:
                walk.walking = walk.walking[walk.goes_on(seen)]
        return BestAtHeights(
            np.array([walk.best for walk in walks]),
            np.array([walk.peak for walk in walks]),
            np.array([walk.nearest for walk in walks]),
            np.array([walk.violation for walk in walks]),
        )

    def peaks(self, number: int) -> Array:
        """Exact peak of one setting at every height, (L,); infinite out of reach. [rad]."""
        every = np.arange(len(self.exact))
        self._solve([self.pairs_of(every, np.full(every.shape, number))])
        return self.exact[:, number]

    def meets(self, settings: Rows, peak: Array) -> NDArray[np.bool_]:
        """Whether a setting at each height keeps the wanted band, or the tolerance without one.

        By its number, (N, L), and its `peak`, infinite where it does not count. [rad].
        """
        if self.heights.case.aim.band is None:
            return np.asarray(peak <= self.tolerance)
        met = np.isfinite(peak)
        for place, evaluator in enumerate(self.heights.evaluators):
            rows = np.flatnonzero(met[:, place])
            if not rows.size:
                continue
            change = evaluator.toe_change(self.pairs.settings.rows(settings[rows, place]))
            met[rows, place] = evaluator.meets(change)
        return met

    def keeps_limits(self, hardware: int, places: Rows, number: int) -> NDArray[np.bool_]:
        """Whether one setting keeps every limit of an alternative at heights (P,)."""
        pairs = self.pairs_of(places, np.full(places.shape, number))
        (worst,) = fitting_violations([self.limits[hardware]], [pairs])
        kept: NDArray[np.bool_] = worst == 0.0
        return kept

    def pairs_of(self, places: Rows, settings: Rows) -> Rows:
        """Pairs of heights and settings, (P,) each."""
        return places * self.pairs.each + settings

    def _estimates(self) -> tuple[Array, Array]:
        """Estimated peak and least possible peak of all settings at each height, (L, U). [rad]."""
        settings = self.pairs.settings
        estimate = np.full(self.exact.shape, np.inf)
        least = np.full(self.exact.shape, np.inf)
        for place, assembled in enumerate(self.heights.assembled()):
            rows = np.flatnonzero(assembled[settings.linkage])
            if rows.size:
                evaluator = self.heights.evaluators[place]
                found = estimated_peaks(evaluator, settings.rows(rows))
                estimate[place, rows], least[place, rows] = found
        return estimate, least

    def _started(
        self, limits: HardwareMargins, numbers: Rows, estimate: Array, least: Array
    ) -> _Walk:
        order = numbers[np.argsort(estimate[:, numbers], axis=1, kind="stable")]
        ascending = np.take_along_axis(least, order, axis=1)
        count = len(order)
        walking = np.flatnonzero(np.isfinite(ascending[:, 0]))
        none, far = np.full(count, -1, dtype=np.intp), np.full(count, np.inf)
        return _Walk(limits, order, ascending, walking, none, far, none.copy(), far.copy())

    def _step(self, walks: list[_Walk], block: slice) -> None:
        """Solve and check the next settings of every walk that goes on."""
        ahead = slice(block.start, block.stop + SOLVED_AHEAD)
        self._solve([self.pairs_of(*walk.next_settings(ahead)) for walk in walks])
        hopeful = []
        for walk in walks:
            places, settings = walk.next_settings(block)
            better = self.exact[places, settings] < walk.peak[places]
            hopeful.append((places[better], settings[better]))
        pairs = [self.pairs_of(*rows) for rows in hopeful]
        violations = fitting_violations([walk.limits for walk in walks], pairs)
        for walk, rows, violation in zip(walks, hopeful, violations, strict=True):
            self._note(walk, *rows, violation)

    def _solve(self, asked: list[Rows]) -> None:
        """Find the exact peaks of pairs; out of reach counts as infinite."""
        pairs = np.unique(np.concatenate(asked))
        pairs = pairs[np.isnan(self.exact.ravel()[pairs])]
        places, rows = np.divmod(pairs, self.pairs.each)
        for place in np.unique(places):
            some = rows[places == place]
            change = self.heights.evaluators[place].toe_change(self.pairs.settings.rows(some))
            peak = np.abs(change).max(axis=1)
            self.exact[place, some] = np.where(np.isnan(peak), np.inf, peak)

    def _note(self, walk: _Walk, places: Rows, settings: Rows, violation: Array) -> None:
        """Keep what fits best, and of what is near enough but breaks a limit what nearly fits."""
        peak = self.exact[places, settings]
        fits = violation == 0.0
        for at in _first_of_each(places, peak, fits):
            walk.best[places[at]], walk.peak[places[at]] = settings[at], peak[at]
        for at in _first_of_each(places, violation, ~fits & (peak <= self.near_enough)):
            if violation[at] < walk.violation[places[at]]:
                walk.nearest[places[at]] = settings[at]
                walk.violation[places[at]] = violation[at]


def _first_of_each(places: Rows, value: Array, among: NDArray[np.bool_]) -> Rows:
    """Index of the smallest value at each place, of those that count."""
    counted = np.flatnonzero(among)
    counted = counted[np.argsort(value[counted], kind="stable")]
    return counted[np.unique(places[counted], return_index=True)[1]]


def _distinct(lots: Sequence[Settings]) -> tuple[Settings, list[Rows]]:
    """Every setting of any lot once, and the numbers of each lot's settings among them."""
    every = joined_settings(lots)
    _, first, numbers = np.unique(every.codes(), return_index=True, return_inverse=True)
    ends = np.cumsum([len(settings) for settings in lots])[:-1]
    return every.rows(first), np.split(numbers, ends)
