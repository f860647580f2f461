"""Exact scores and limits of one wheel's settings, each found out once.

The settings of several alternatives of hardware stand in one list.  What differs between kits are
limits; the poses of the wheel are the same, so settings are solved together whatever their kit.
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings, joined_settings
from optimizer.limits.described import fitted_by
from optimizer.limits.margins import (
    Margin,
    Places,
    clearance,
    margins,
    most_telling,
    unsure,
    violation,
)
from optimizer.limits.watched import joined_limits
from optimizer.models.setting import Fitted
from optimizer.options.alike import Alike
from optimizer.options.drawn import OverCars
from optimizer.options.estimates import estimated_peaks, some_at_a_time
from optimizer.options.parts import Part, limits_key
from optimizer.options.space import Space

DRILLS, CHANGED, WORK, STACK, RAISED, PRICE = range(6)  # keys of effort, heaviest first
FEW = 4  # rows that cost no more everywhere than at the ends of travel and lock first


class Candidates:
    """What is known so far about the settings of a wheel.

    `peak` (M,) is the exact peak toe change, NaN while unknown [rad]; `violation` (M,) is 0 where
    the setting fits, NaN while unknown, and otherwise at least how far a limit is exceeded;
    `clearance` (M,) is what the smallest gap of a row that fits is at most, or just that where
    `followed` (M,) says so, infinite without obstacles [mm]; `solved` lists the rows in the order
    in which they were solved, `asked` those whose peak was asked for, known before or not.
    """

    def __init__(self, parts: Sequence[Part], over: OverCars | None = None) -> None:
        self.parts, self.over = tuple(parts), over
        self.settings: Settings = joined_settings([part.space.settings for part in parts])
        self.starts = np.cumsum([0, *(len(part.space.settings) for part in parts)])
        self.peak = np.full(len(self.settings), np.nan)
        self.violation = np.full(len(self.settings), np.nan)
        self.clearance = np.full(len(self.settings), np.nan)
        self.followed = np.zeros(len(self.settings), dtype=bool)
        self.solved: list[int] = []
        self.asked: dict[int, None] = {}
        self._at_ends = np.zeros(len(self.settings), dtype=bool)
        self._telling: dict[int, Places] = {}
        self._unsure: dict[int, Margin] = {}
        self._looked: dict[int, tuple[int, list[Margin]]] = {}

    @staticmethod
    def of(evaluator: Evaluator, space: Space) -> "Candidates":
        """Take the settings of one alternative."""
        return Candidates([Part(evaluator, space)])

    @property
    def evaluator(self) -> Evaluator:
        """That of the first alternative; its wheel moves as with every kit."""
        return self.parts[0].evaluator

    @property
    def space(self) -> Space:
        """That of the first alternative."""
        return self.parts[0].space

    def place(self, row: int) -> tuple[int, int]:
        """Which part a row belongs to, and its row there."""
        part = int(np.searchsorted(self.starts, row, side="right")) - 1
        return part, int(row - self.starts[part])

    @cached_property
    def limited_as(self) -> NDArray[np.intp]:
        """For each part the first part that moves the wheel alike and allows as much."""
        seen: dict[tuple[object, ...], int] = {}
        keys = [limits_key(part.evaluator) for part in self.parts]
        return np.array([seen.setdefault(key, number) for number, key in enumerate(keys)])

    @cached_property
    def alike(self) -> Alike:
        """Rows that are the same setting with limits that are the same."""
        return Alike.of(self.settings, np.repeat(self.limited_as, np.diff(self.starts)))

    def by_limits(self, rows: Rows) -> list[tuple[Evaluator, Rows]]:
        """Places of rows that have the same limits among the rows, with an evaluator for them."""
        parts = self.limited_as[np.searchsorted(self.starts, rows, side="right") - 1]
        return [
            (self.parts[part].evaluator, np.flatnonzero(parts == part))
            for part in np.unique(parts).tolist()
        ]

    def rows_of(self, part: int) -> Rows:
        """Rows of a part."""
        return np.arange(self.starts[part], self.starts[part + 1])

    @cached_property
    def allowed(self) -> Rows:
        """Rows that are settings in their own right: leaving it only where it may be left."""
        kept = [
            start + part.space.allowed
            for start, part in zip(self.starts[:-1], self.parts, strict=True)
        ]
        return np.concatenate(kept)

    @cached_property
    def left(self) -> int:
        """Row that leaves the wheel as it is."""
        return self.parts[0].space.left

    def pieces(self, row: int) -> tuple[float, ...]:
        """Pieces of a row's stack, thickest first. [mm]."""
        part, local = self.place(row)
        return self.parts[part].space.pieces(local)

    def fitted(self, row: int) -> Fitted:
        """What a row fits at the wheel."""
        case = self.parts[self.place(row)[0]].evaluator.case
        return fitted_by(case, self.settings, self.pieces(row), row)

    @cached_property
    def effort(self) -> Array:
        """What each row asks of the workshop, least first, (6, M) keys for a lexical sort.

        In order of weight: a taper drilled out; anything at all; work; height of the
        stack; rack moved; price.
        """
        return np.hstack(
            [
                np.vstack(
                    [
                        np.full((1, len(part.space.settings)), part.drills, dtype=float),
                        part.space.effort(),
                        np.full((1, len(part.space.settings)), part.price),
                    ]
                )
                for part in self.parts
            ]
        )

    @cached_property
    def estimates(self) -> tuple[Array, Array]:
        """Estimated peak of each row, and the least exact peak that it could have, (M,). [rad]."""
        estimate, least = np.empty(len(self.settings)), np.empty(len(self.settings))
        for rows, evaluator in self._by_motion(np.arange(len(self.settings))):
            if self.over is not None:  # no estimate is left out: every one is what it would be
                estimate[rows] = self.over.peaks(evaluator, self.settings.rows(rows))
                least[rows] = estimate[rows]
                continue
            estimate[rows], least[rows] = estimated_peaks(evaluator, self.settings.rows(rows))
        return estimate, least

    @cached_property
    def rate_change(self) -> Array:
        """Steer rate of each row over that of the car as it is, less 1, (M,); 0 on a rear axle."""
        if not self.evaluator.case.words.steers:
            return np.zeros(len(self.settings))
        rate = np.empty(len(self.settings))
        for every, evaluator in self._by_motion(np.arange(len(self.settings))):
            for rows in some_at_a_time(every):
                rate[rows] = evaluator.steer_rate(self.settings.rows(rows))
        change: Array = rate / rate[self.left] - 1.0
        return change

    def find_peaks(self, rows: Rows) -> None:
        """Solve the rows exactly where that is not done; out of reach counts as infinite."""
        self.asked |= dict.fromkeys(rows.tolist())
        self.solve(rows)

    def solve(self, rows: Rows) -> None:
        """The same where nobody has asked yet."""
        new = rows[np.isnan(self.peak[rows])]
        if not new.size:
            return
        self.solved += new.tolist()
        if self.over is not None:
            self.peak[new] = self.estimates[0][new]
            return
        for every, evaluator in self._by_motion(new):
            for some in some_at_a_time(every):
                change = evaluator.toe_change(self.settings.rows(some))
                peak = np.abs(change).max(axis=1)
                self.peak[some] = np.where(np.isnan(peak), np.inf, peak)

    def find_limits(self, rows: Rows) -> None:
        """Check the rows against every limit where that is not done; with them the car as it is."""
        rows = np.append(rows, self.left)  # which is always asked about, and costs least this way
        if len(self._not_at_ends(rows)) > FEW:
            self.find_broken(rows)
        for evaluator, new in self._unknown(rows):
            found = margins(evaluator, self.settings.rows(new))
            self.violation[new] = violation(found)
            self.clearance[new] = clearance(found, new.size)
            self._find_unsure(evaluator, new[self.violation[new] == 0.0])
            self.alike.share(new, self.violation, self.clearance)

    def find_clearances(self, rows: Rows) -> None:
        """Find just the smallest gap of the rows where that is not done."""
        self.find_margins(rows[~self.followed[rows]])

    def find_margins(self, rows: Rows) -> None:
        """Find the smallest gap and tilt margin of the rows, and where they are."""
        rows = self.alike.first(rows)
        for evaluator, places in self.by_limits(rows):
            new = rows[places]
            found = margins(evaluator, self.settings.rows(new), follow="smallest")
            self._looked |= {row: (place, found) for place, row in enumerate(new.tolist())}
            self.clearance[new], self.followed[new] = clearance(found, new.size), True
            self.alike.share(new, self.clearance, self.followed)

    def find_broken(self, rows: Rows) -> None:
        """Find out most of the rows that don't fit: at the ends of travel and lock it shows.

        Once some are known, the one place that tells most of them is looked at before.
        """
        rows = self._not_at_ends(rows)
        for evaluator, new in self._unknown(rows):
            if id(evaluator) in self._telling:
                self._look(evaluator, new, places=self._telling[id(evaluator)])
        for evaluator, new in self._unknown(rows):
            found, worst = self._look(evaluator, new, ends_only=True)
            self._at_ends[new] = True
            if id(evaluator) not in self._telling and worst.any():
                self._telling[id(evaluator)] = most_telling(found, worst)

    def fits(self, rows: Rows) -> NDArray[np.bool_]:
        """Whether each row keeps every limit, (N,) bool."""
        self.find_limits(rows)
        return np.asarray(self.violation[rows] == 0.0)

    def breaks(self, rows: Rows) -> NDArray[np.bool_]:
        """Whether each row is known to break a limit on the car as measured, (N,) bool."""
        return np.asarray((self.violation[rows] > 0.0) & ~self._is_unsure(rows))

    def _is_unsure(self, rows: Rows) -> NDArray[np.bool_]:
        """Whether each row keeps every limit as measured, but in too few of the cars, (N,) bool."""
        return np.isin(self.alike.of_row[rows], list(self._unsure))

    def told_alike(self, rows: Rows) -> list[Rows]:
        """Rows in parts of which the same limits are told: an unsure one is told of by itself."""
        alone = self._is_unsure(rows)
        return [some for some in (rows[~alone], *rows[alone][:, None]) if some.size]

    def margins(self, rows: Rows) -> list[Margin]:
        """Every limit of rows of which the same is told (N,), with where it is worst."""
        own, first = self.margins_of(rows), int(self.alike.of_row[rows[0]])
        return own + ([self._unsure[first]] if first in self._unsure else [])

    def margins_of(self, rows: Rows) -> list[Margin]:
        """Every limit of some rows with the same limits (N,), as measured, where it is worst."""
        self.find_clearances(rows)
        looked = [self._looked[row] for row in self.alike.of_row[rows].tolist()]
        return joined_limits(
            [[one.rows(np.array([place])) for one in found] for place, found in looked]
        )

    def _find_unsure(self, evaluator: Evaluator, rows: Rows) -> None:
        """Tell those of the rows that keep every limit in too few of the cars, if these rank."""
        if self.over is None or not rows.size:
            return
        share = self.over.limits_kept(evaluator, self.settings.rows(rows), self.margins_of(rows))
        short = np.maximum(0.0, self.over.kept - share)
        self.violation[rows] = short
        for row, kept in zip(rows[short > 0.0].tolist(), share[short > 0.0], strict=True):
            self._unsure[row] = unsure(kept, self.over.kept)

    def _look(
        self,
        evaluator: Evaluator,
        rows: Rows,
        *,
        ends_only: bool = False,
        places: Places | None = None,
    ) -> tuple[list[Margin], Array]:
        """Look at unknown rows at some places only: what is broken there doesn't fit."""
        found = margins(evaluator, self.settings.rows(rows), ends_only=ends_only, places=places)
        worst = violation(found)
        self.violation[rows] = np.where(worst > 0.0, worst, np.nan)
        self.alike.share(rows, self.violation)
        return found, worst

    def _not_at_ends(self, rows: Rows) -> Rows:
        """Those of the rows that were not looked at at the ends of travel and lock."""
        return np.asarray(rows[~self._at_ends[self.alike.of_row[rows]]])

    def _unknown(self, rows: Rows) -> list[tuple[Evaluator, Rows]]:
        """One of each of the rows whose limits are not known, by limits."""
        new = self.alike.first(rows[np.isnan(self.violation[rows])])
        return [(evaluator, new[places]) for evaluator, places in self.by_limits(new)]

    def _by_motion(self, rows: Rows) -> list[tuple[Rows, Evaluator]]:
        """Rows by the evaluator that moves them: kits share one, for poses depend on none."""
        parts = np.searchsorted(self.starts, rows, side="right") - 1
        found: dict[int, tuple[list[int], Evaluator]] = {}
        for part in np.unique(parts).tolist():
            evaluator = self.parts[part].evaluator
            found.setdefault(id(evaluator.corner), ([], evaluator))[0].append(part)
        return [(rows[np.isin(parts, some)], one) for some, one in found.values()]
