"""Exact scores and limits of settings, each found out once."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.adjust import Rows
from optimizer.evaluate import Evaluator
from optimizer.limits import Margin, margins
from optimizer.search.space import Space


@dataclass
class Candidates:
    """What is known so far about the rows of a space.

    `peak` (M,) is the exact peak toe change, NaN while unknown [rad]; `violation` (M,) is 0 where
    the setting fits, NaN while unknown, and otherwise at least how far a limit is exceeded;
    `clearance` (M,) is the smallest gap of a row that fits, infinite without obstacles. [mm]
    """

    evaluator: Evaluator
    space: Space
    peak: Array = field(init=False)
    violation: Array = field(init=False)
    clearance: Array = field(init=False)

    def __post_init__(self) -> None:
        self.peak = np.full(len(self.space.settings), np.nan)
        self.violation = np.full(len(self.space.settings), np.nan)
        self.clearance = np.full(len(self.space.settings), np.nan)

    def find_peaks(self, rows: Rows) -> None:
        """Solve the rows exactly where that is not done; out of reach counts as infinite."""
        new = rows[np.isnan(self.peak[rows])]
        if new.size:
            change = self.evaluator.toe_change(self.space.settings.rows(new))
            peak = np.abs(change).max(axis=1)
            self.peak[new] = np.where(np.isnan(peak), np.inf, peak)

    def find_limits(self, rows: Rows) -> None:
        """Check the rows against every limit where that is not done.

        Most of what doesn't fit shows it at the ends of travel and lock, which are looked at first.
        """
        for ends_only in (True, False):
            new = rows[np.isnan(self.violation[rows])]
            if not new.size:
                return
            settings = self.space.settings.rows(new)
            found = margins(self.evaluator, settings, ends_only=ends_only)
            worst = np.maximum(0.0, -np.min([m.margin for m in found], axis=0))
            self.violation[new] = np.where(ends_only & (worst == 0.0), np.nan, worst)
            gaps = [margin.value for margin in found if margin.kind == "gap"]
            self.clearance[new] = np.min(gaps, axis=0) if gaps else np.inf

    def margins(self, rows: Rows) -> list[Margin]:
        """Every limit of some rows, with where it is worst."""
        return margins(self.evaluator, self.space.settings.rows(rows))

    def fits(self, rows: Rows) -> NDArray[np.bool_]:
        """Whether each row keeps every limit, (N,) bool."""
        self.find_limits(rows)
        fitting: NDArray[np.bool_] = self.violation[rows] == 0.0
        return fitting
