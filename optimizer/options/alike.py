"""Rows of settings that are alike: what is found of one is known of all.

Kits differ in what they can build more than in what they allow, so many offer the same setting
with the same limits.
"""

from functools import cached_property
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from optimizer.car.settings import Rows, Settings


class Alike(Struct, frozen=True, dict=True):
    """For each of M rows the first that is like it, `of_row` (M,)."""

    of_row: Rows

    @staticmethod
    def of(settings: Settings, limits: Rows) -> "Alike":
        """Compare M settings, each with the number of its limits (M,)."""
        every = np.arange(len(settings))
        if not limits.any():  # one part lists no setting twice
            return Alike(every)
        codes = np.unique(settings.codes(), return_inverse=True)[1] + limits * len(settings)
        _, first, numbers = np.unique(codes, return_index=True, return_inverse=True)
        return Alike(first[numbers])

    def first(self, rows: Rows) -> Rows:
        """One row for all that are alike, each once, in the order in which they come."""
        if self._single:
            return rows
        of_rows = self.of_row[rows]
        _, places = np.unique(of_rows, return_index=True)
        found: Rows = of_rows[np.sort(places)]
        return found

    def share(self, rows: Rows, *tables: NDArray[Any]) -> None:
        """Give what tables (M,) hold of first rows to all that are like them."""
        if self._single:
            return
        many = self._ends[rows] - self._starts[rows]
        own = np.repeat(rows, many)
        within = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many)
        others = self._order[np.repeat(self._starts[rows], many) + within]
        for table in tables:
            table[others] = table[own]

    @cached_property
    def _single(self) -> bool:
        return bool((self.of_row == np.arange(self.of_row.size)).all())

    @cached_property
    def _order(self) -> Rows:
        """Rows that are alike behind each other."""
        return np.argsort(self.of_row, kind="stable")

    @cached_property
    def _starts(self) -> Rows:
        return np.searchsorted(self.of_row[self._order], np.arange(self.of_row.size), "left")

    @cached_property
    def _ends(self) -> Rows:
        return np.searchsorted(self.of_row[self._order], np.arange(self.of_row.size), "right")
