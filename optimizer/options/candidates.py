"""Exact scores and limits of settings, each found out once."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import Rows, Settings
from optimizer.car.evaluate import Evaluator
from optimizer.limits.margins import Margin, Places, margins
from optimizer.options.space import Space


@dataclass
class Candidates:
    """What is known so far about the rows of a space.

    `peak` (M,) is the exact peak toe change, NaN while unknown [rad]; `violation` (M,) is 0 where
    the setting fits, NaN while unknown, and otherwise at least how far a limit is exceeded;
    `clearance` (M,) is what the smallest gap of a row that fits is at most, or just that where
    `followed` (M,) says so, infinite without obstacles [mm];
    `telling` is the place at which the first rows that don't fit were worst most often.
    """

    evaluator: Evaluator
    space: Space
    peak: Array = field(init=False)
    violation: Array = field(init=False)
    clearance: Array = field(init=False)
    followed: NDArray[np.bool_] = field(init=False)
    telling: Places | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self.peak = np.full(len(self.space.settings), np.nan)
        self.violation = np.full(len(self.space.settings), np.nan)
        self.clearance = np.full(len(self.space.settings), np.nan)
        self.followed = np.zeros(len(self.space.settings), dtype=bool)

    def find_peaks(self, rows: Rows) -> None:
        """Solve the rows exactly where that is not done; out of reach counts as infinite."""
        new = rows[np.isnan(self.peak[rows])]
        if new.size:
            change = self.evaluator.toe_change(self.space.settings.rows(new))
            peak = np.abs(change).max(axis=1)
            self.peak[new] = np.where(np.isnan(peak), np.inf, peak)

    def find_limits(self, rows: Rows) -> None:
        """Check the rows against every limit where that is not done."""
        self.find_broken(rows)
        new = self._unknown(rows)
        if new.size:
            found = margins(self.evaluator, self._settings(new))
            self.violation[new] = _violation(found)
            self.clearance[new] = clearance(found, new.size)

    def find_clearances(self, rows: Rows) -> None:
        """Find just the smallest gap of the rows where that is not done."""
        new = rows[~self.followed[rows]]
        if new.size:
            self.margins(new)

    def find_broken(self, rows: Rows) -> None:
        """Find out most of the rows that don't fit: at the ends of travel and lock it shows.

        Once some are known, the one place that tells most of them is looked at before.
        """
        if self.telling is not None:
            self._look(rows, places=self.telling)
        found, worst = self._look(rows, ends_only=True)
        if self.telling is None and worst.any():
            self.telling = _most_telling(found, worst)

    def _look(
        self, rows: Rows, *, ends_only: bool = False, places: Places | None = None
    ) -> tuple[list[Margin], Array]:
        """Look at unknown rows at some places only: what is broken there doesn't fit."""
        new = self._unknown(rows)
        if not new.size:
            return [], np.empty(0)
        found = margins(self.evaluator, self._settings(new), ends_only=ends_only, places=places)
        worst = _violation(found)
        self.violation[new] = np.where(worst > 0.0, worst, np.nan)
        return found, worst

    def _unknown(self, rows: Rows) -> Rows:
        """Those of the rows whose limits are not known."""
        return rows[np.isnan(self.violation[rows])]

    def margins(self, rows: Rows) -> list[Margin]:
        """Every limit of some rows, with where it is worst; smallest gap and tilt margin exact."""
        found = margins(self.evaluator, self._settings(rows), follow="smallest")
        self.clearance[rows], self.followed[rows] = clearance(found, rows.size), True
        return found

    def _settings(self, rows: Rows) -> Settings:
        return self.space.settings.rows(rows)

    def fits(self, rows: Rows) -> NDArray[np.bool_]:
        """Whether each row keeps every limit, (N,) bool."""
        self.find_limits(rows)
        fitting: NDArray[np.bool_] = self.violation[rows] == 0.0
        return fitting


def clearance(found: list[Margin], rows: int) -> Array:
    """Smallest gap of each of the rows, (M,); infinite where no obstacle is stated. [mm]."""
    gaps = [margin.value for margin in found if margin.kind == "gap"]
    return np.min(gaps, axis=0) if gaps else np.full(rows, np.inf)


def _violation(found: list[Margin]) -> Array:
    """How far each row exceeds its worst limit, (M,), 0 where it keeps all."""
    worst: Array = np.maximum(0.0, -np.min([margin.margin for margin in found], axis=0))
    return worst


def _most_telling(found: list[Margin], worst: Array) -> Places:
    """Rack travel and wheel travel at which most of the broken rows break their worst limit."""
    broken = np.flatnonzero(worst > 0.0)
    limit = np.argmin([margin.margin for margin in found], axis=0)[broken]
    travel = np.array([margin.travel for margin in found])[limit, broken]
    rack = np.array([margin.rack_travel for margin in found])[limit, broken]
    places, counts = np.unique([rack, travel], axis=1, return_counts=True)
    most = places[:, [np.argmax(counts)]]
    return most[0], most[1]
