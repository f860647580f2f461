"""Margins of settings at ride heights, each pair of the two found out once."""

from dataclasses import dataclass, field

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.ride_heights import RideHeights
from optimizer.car.settings import Rows, Settings
from optimizer.limits.followed import Follow, Needed
from optimizer.limits.margins import Margin, Places, margins
from optimizer.models.case import Case

Pairs = NDArray[np.intp]


class SettingsAtHeights(Struct, frozen=True):
    """Pairs of a setting and a ride height, numbered ``height * each + setting``.

    `settings` are `each` that stand at every height, or `each` for one height after the other.
    """

    heights: RideHeights
    settings: Settings
    each: int

    def place(self, pairs: Pairs) -> Rows:
        """Which height each pair stands at."""
        return pairs // self.each

    def setting(self, pairs: Pairs) -> Settings:
        """What is fitted in each pair."""
        return self.settings.rows(pairs % len(self.settings))


@dataclass
class PairMargins:
    """Margins of pairs for one shape of housing, its radius taken as 0 and its joint as free.

    `table` (N, 4, limits) holds margin, value, travel and rack travel of the pairs found so far,
    infinite where a pair is far off a limit; `rod_change` (N,) how much longer their rod becomes
    [mm]; `row` says where a pair is in them, -1 for one that is not.
    """

    pairs: SettingsAtHeights
    case: Case
    at_a_time: int
    ends_only: bool = False
    places: Places | None = None
    follow: Follow = "undecided"
    needed: Needed = lambda _: (0.0, 0.0)
    limits: list[Margin] = field(init=False, default_factory=list)
    row: Rows = field(init=False)
    table: Array = field(init=False)
    rod_change: Array = field(init=False)

    def __post_init__(self) -> None:
        self.row = np.full(len(self.pairs.heights.evaluators) * self.pairs.each, -1)
        self.rod_change = np.empty(0)

    def find(self, pairs: Pairs) -> None:
        """Find the margins of those pairs that are not known yet."""
        new = np.unique(pairs[self.row[pairs] < 0])
        step = self.at_a_time
        found = [self._found(new[k : k + step]) for k in range(0, new.size, step)]
        if found:
            tables, changes = zip(*found, strict=True)
            self.row[new] = np.arange(new.size) + self.rod_change.size
            known = [self.table] if self.rod_change.size else []
            self.table = np.concatenate([self._widened(one) for one in (*known, *tables)])
            self.rod_change = np.concatenate([self.rod_change, *changes])

    def _found(self, new: Pairs) -> tuple[Array, Array]:
        settings, places = self.pairs.setting(new), self.pairs.place(new)
        evaluator = self.pairs.heights.standing(self.case, places, settings)
        found = margins(
            evaluator,
            settings,
            ends_only=self.ends_only,
            places=self.places,
            follow=self.follow,
            needed=self.needed,
        )
        known = {one.key for one in self.limits}
        self.limits += [one for one in found if one.key not in known]
        column = {one.key: k for k, one in enumerate(self.limits)}
        table = self._widened(np.empty((new.size, 4, 0)))
        for one in found:
            own = [one.margin, one.value, one.travel, one.rack_travel]
            table[:, :, column[one.key]] = np.stack(own, axis=1)
        return table, evaluator.rod_length_change(settings)

    def _widened(self, table: Array) -> Array:
        """Put a column for each limit into a table that may have been made before some were met."""
        new = np.full((len(table), 4, len(self.limits) - table.shape[2]), np.inf)
        new[:, 2:] = 0.0
        return np.concatenate([table, new], axis=2)
