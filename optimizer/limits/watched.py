"""What is watched over travel x lock: a value at places, and how far it may pass between them."""

from collections.abc import Callable, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.refinement import Looked
from geometry.sag import Grid, on_grid
from geometry.vectors import Array
from optimizer.car.settings import Rows

Part = Literal["rod", "outer joint", "inner joint"]

ALIKE = 1e-9  # margins that differ by less are those of the same place [mm or deg]


class Margin(Struct, frozen=True):
    """One limit of each candidate at its worst place.

    `kind` is "tilt", "steered" or "turn" [deg], "roll" [deg per deg], "gap", "lock" or "thread"
    [mm], "reach" or "stud" [-]; `value` and `margin` are (M,), `margin` positive when safe;
    `travel` and `rack_travel` (M,) say where the worst is. [mm]  `part` is the one of which tilt or
    gap are.
    """

    kind: str
    name: str
    value: Array
    limit: float
    margin: Array
    travel: Array
    rack_travel: Array
    part: Part | None = None

    def with_rows(
        self, rows: Rows, value: Array, margin: Array, travel: Array, rack_travel: Array
    ) -> "Margin":
        """The same with other values, margins and places of some of the candidates, (K,) each."""
        parts = [x.copy() for x in (self.value, self.margin, self.travel, self.rack_travel)]
        for part, new in zip(parts, (value, margin, travel, rack_travel), strict=True):
            part[rows] = new
        value, margin, travel, rack_travel = parts
        return replace(self, value=value, margin=margin, travel=travel, rack_travel=rack_travel)

    @property
    def key(self) -> tuple[str, str]:
        """What tells one limit from another."""
        return self.kind, self.name

    @staticmethod
    def joined(parts: Sequence["Margin"]) -> "Margin":
        """One limit of some candidates after another."""
        names = "value", "margin", "travel", "rack_travel"
        value, margin, travel, rack_travel = (
            np.concatenate([getattr(one, name) for one in parts]) for name in names
        )
        return replace(parts[0], value=value, margin=margin, travel=travel, rack_travel=rack_travel)

    def far_off(self, count: int) -> "Margin":
        """The same limit of so many candidates that are nowhere near it."""
        far, at = np.full(count, np.inf), np.zeros(count)
        return replace(self, value=far, margin=far, travel=at, rack_travel=at)

    def rows(self, which: Rows) -> "Margin":
        """Pick some of the candidates."""
        return replace(
            self,
            value=self.value[which],
            margin=self.margin[which],
            travel=self.travel[which],
            rack_travel=self.rack_travel[which],
        )


def joined_limits(each: Sequence[Sequence[Margin]]) -> list[Margin]:
    """Limits of some candidates after another, each in the order of the others.

    Those who don't list one are far off it, see `optimizer.limits.near`.
    """
    order: list[tuple[str, str]] = []
    for keys in dict.fromkeys(tuple(one.key for one in limits) for limits in each):
        place = 0
        for key in keys:
            if key not in order:
                order.insert(place, key)
            place = order.index(key) + 1
    known = [{one.key: one for one in limits} for limits in each]
    any_of = {one.key: one for limits in each for one in limits}
    counts = [len(limits[0].margin) for limits in each]
    return [
        Margin.joined(
            [own.get(key) or any_of[key].far_off(n) for own, n in zip(known, counts, strict=True)]
        )
        for key in order
    ]


class Watched(Struct, frozen=True):
    """One limit of M candidates at T places, found out when asked for.

    `kind` is "tilt" or "line" [deg], "gap" [mm] or "reach"; `value()` is (M, T).  Where the places
    are a grid, `bound(value, grid)` (M, R - 1, H - 1) is the largest tilt, or the smallest gap or
    angle from a line, that each cell may hold.  `reach` is the name of what stands still where
    there is no value.
    """

    kind: str
    name: str
    limit: float
    value: Callable[[], Array]
    bound: Callable[[Array, Grid], Array] | None = None
    reach: str = "linkage"
    part: Part | None = None

    def margin(self, value: Array) -> Array:
        """What a value leaves to the limit, positive when safe."""
        return self.limit - value if self.kind == "tilt" else value - self.limit

    def value_at(self, margin: Array) -> Array:
        """Value that leaves a margin."""
        return self.limit - margin if self.kind == "tilt" else margin + self.limit

    def looked(self, value: Array, grid: Grid) -> Looked:
        """Margins on a grid, and the least that its cells may hold."""
        margin = on_grid(self.margin(value), grid)
        if self.bound is None:
            return Looked(grid, margin, np.full((len(margin), 1, 1), np.inf))
        return Looked(grid, margin, self.margin(self.bound(value, grid)))

    def worst(self, value: Array, travel: Array, rack: Array) -> Margin:
        """Worst of the values (M, T) at places (T,) or (M, T)."""
        margin = self.margin(value)
        margin = np.where(np.isnan(margin), np.inf, margin)
        where = [np.broadcast_to(x, margin.shape) for x in (travel, rack)]
        # Of places that are all alike, the one nearest to ride height and straight ahead is named.
        alike = margin <= margin.min(axis=1, keepdims=True) + ALIKE
        at = np.where(alike, np.abs(where[0]) + np.abs(where[1]), np.inf).argmin(axis=1)
        rows = np.arange(len(margin))
        travel, rack = (x[rows, at] for x in where)
        value, margin = value[rows, at], margin[rows, at]
        return Margin(self.kind, self.name, value, self.limit, margin, travel, rack, self.part)
