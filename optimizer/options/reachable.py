"""The best setting of every kit at every ride height: one walk for all of them.

Each kit at each height is walked as in `certificate`, from the best estimate down until nothing
left can beat what was found to fit.  The steps of all walks are taken together, so that a setting
that several kits ask for at a height is solved and checked once, in one batch with the others.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import Rows, Settings
from optimizer.car.ride_heights import RideHeights
from optimizer.models.case import Case
from optimizer.options.kit_margins import KitMargins, fitting_violations, kit_margins
from optimizer.options.pair_margins import SettingsAtHeights
from optimizer.options.proof import estimated_peaks
from optimizer.options.space import Space

ONE_BY_ONE = 4  # rows of each walk before the steps double
SOLVED_AHEAD = 16  # rows solved before their turn: a few at a time cost as much as many


@dataclass(frozen=True)
class Reached:
    """What the walks found, (K, L) for K kits at L heights.

    `best` is the kit's row with the smallest peak that keeps every limit, -1 where none does, and
    `peak` that peak, infinite where none does. [rad]  `nearest` is, of the rows within the
    tolerance that break a limit, the one that breaks it least at the stage that showed it; -1 where
    there is none.
    """

    best: Rows
    peak: Array
    nearest: Rows


@dataclass
class _Walk:
    """One kit at all heights: rows in order of estimate, and where it stands."""

    limits: KitMargins
    rows: Rows
    order: Rows
    least: Array
    walking: Rows
    best: Rows
    peak: Array
    nearest: Rows
    violation: Array

    def next_rows(self, block: slice) -> tuple[Rows, Rows]:
        """Heights that are still walked, and rows in their order there, one for each."""
        rows = self.order[self.walking, block]
        return np.repeat(self.walking, rows.shape[1]), rows.ravel()


class Walks:
    """All walks of K kits over L heights."""

    def __init__(self, heights: RideHeights, cases: list[Case], spaces: list[Space]) -> None:
        self.heights = heights
        settings, self.rows = _all_settings(spaces)
        self.pairs = SettingsAtHeights(heights, settings, len(settings))
        self.limits = kit_margins(self.pairs, cases)
        self.exact = np.full((heights.lowered_by.size, len(settings)), np.nan)
        self.tolerance = np.radians(heights.case.aim.tolerance_deg)

    def reached(self) -> Reached:
        """Walk until every kit's best setting at every height is proved."""
        estimate, least = self._estimates()
        walks = [
            self._started(limits, rows, estimate, least)
            for limits, rows in zip(self.limits, self.rows, strict=True)
        ]
        seen, step = 0, 1
        while any(walk.walking.size for walk in walks):
            self._step(walks, slice(seen, seen + step))
            seen += step
            step = 1 if seen < ONE_BY_ONE else seen
            for walk in walks:
                walk.walking = walk.walking[_goes_on(walk, seen)]
        return Reached(
            np.array([walk.best for walk in walks]),
            np.array([walk.peak for walk in walks]),
            np.array([walk.nearest for walk in walks]),
        )

    def _estimates(self) -> tuple[Array, Array]:
        """Estimated peak and least possible peak of all settings at each height, (L, U). [rad]."""
        settings, drops = self.pairs.settings, self.heights.case.linkage_choices
        estimate = np.full(self.exact.shape, np.inf)
        least = np.full(self.exact.shape, np.inf)
        for place, assembled in enumerate(self.heights.assembled()):
            reached = [drop for drop, sound in zip(drops, assembled, strict=True) if sound]
            rows = np.flatnonzero(np.isin(settings.ball_joint_drop, reached))
            if rows.size:
                evaluator = self.heights.evaluators[place]
                found = estimated_peaks(evaluator, settings.rows(rows))
                estimate[place, rows], least[place, rows] = found
        return estimate, least

    def _started(self, limits: KitMargins, rows: Rows, estimate: Array, least: Array) -> _Walk:
        order = np.argsort(estimate[:, rows], axis=1, kind="stable")
        ascending = np.take_along_axis(least[:, rows], order, axis=1)
        count = len(order)
        walking = np.flatnonzero(np.isfinite(ascending[:, 0]))
        none, far = np.full(count, -1, dtype=np.intp), np.full(count, np.inf)
        return _Walk(limits, rows, order, ascending, walking, none, far, none.copy(), far.copy())

    def _step(self, walks: list[_Walk], block: slice) -> None:
        """Solve and check the next rows of every walk that goes on."""
        ahead = slice(block.start, block.stop + SOLVED_AHEAD)
        self._solve([self._numbers(walk, *walk.next_rows(ahead)) for walk in walks])
        hopeful = []
        for walk in walks:
            places, local = walk.next_rows(block)
            better = self.exact[places, walk.rows[local]] < walk.peak[places]
            hopeful.append((walk, places[better], local[better]))
        pairs = [self._numbers(*rows) for rows in hopeful]
        violations = fitting_violations([walk.limits for walk in walks], pairs)
        for (walk, places, local), violation in zip(hopeful, violations, strict=True):
            self._note(walk, places, local, violation)

    def pairs_of(self, kit: int, places: Rows, rows: Rows) -> Rows:
        """Pairs of a kit's own rows at heights, (P,) each."""
        return places * self.pairs.each + self.rows[kit][rows]

    def settings_of(self, kit: int, rows: Rows) -> Settings:
        """Settings of a kit's own rows."""
        return self.pairs.settings.rows(self.rows[kit][rows])

    def _numbers(self, walk: _Walk, places: Rows, rows: Rows) -> Rows:
        return places * self.pairs.each + walk.rows[rows]

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

    def _note(self, walk: _Walk, places: Rows, local: Rows, violation: Array) -> None:
        """Keep what fits best, and of what breaks a limit within the tolerance what nearly fits."""
        peak = self.exact[places, walk.rows[local]]
        fits = violation == 0.0
        for at in _first_of_each(places, peak, fits):
            walk.best[places[at]], walk.peak[places[at]] = local[at], peak[at]
        for at in _first_of_each(places, violation, ~fits & (peak <= self.tolerance)):
            if violation[at] < walk.violation[places[at]]:
                walk.nearest[places[at]] = local[at]
                walk.violation[places[at]] = violation[at]


def _goes_on(walk: _Walk, seen: int) -> NDArray[np.bool_]:
    """Whether a row not yet seen may still beat the best at each height walked."""
    if seen >= walk.order.shape[1]:
        return np.zeros(walk.walking.size, dtype=bool)
    least = walk.least[walk.walking, seen]
    going: NDArray[np.bool_] = np.isfinite(least) & (least <= walk.peak[walk.walking])
    return going


def _first_of_each(places: Rows, value: Array, among: NDArray[np.bool_]) -> Rows:
    """Index of the smallest value at each place, of those that count."""
    counted = np.flatnonzero(among)
    counted = counted[np.argsort(value[counted], kind="stable")]
    return counted[np.unique(places[counted], return_index=True)[1]]


def _all_settings(spaces: list[Space]) -> tuple[Settings, list[Rows]]:
    """Every setting of any kit once, and where each kit's rows are among them."""
    grids = [
        np.stack([s.outer_drop, s.rack_raise, s.ball_joint_drop], axis=1)
        for s in (space.settings for space in spaces)
    ]
    every, rows = np.unique(np.concatenate(grids), axis=0, return_inverse=True)
    ends = np.cumsum([len(grid) for grid in grids])[:-1]
    return Settings(*np.ascontiguousarray(every.T)), np.split(rows.ravel(), ends)
