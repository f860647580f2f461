"""Exact scores and limits of one wheel's settings, each found out once.

The settings of several alternatives of hardware stand in one list.  What differs between kits are
limits; the poses of the wheel are the same, so settings are solved together whatever their kit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings, joined_settings
from optimizer.limits.margins import Margin, Places, margins
from optimizer.options.drawn import OverCars
from optimizer.options.estimates import estimated_peaks, some_at_a_time
from optimizer.options.space import Space

DRILLS, CHANGED, WORK, STACK, RAISED, PRICE = range(6)  # keys of effort, heaviest first
FEW = 4  # rows that cost no more everywhere than at the ends of travel and lock first


@dataclass(frozen=True)
class Part:
    """The settings of one alternative of hardware, and what decides between alternatives."""

    evaluator: Evaluator
    space: Space
    drills: bool = False
    price: float = 0.0


class Candidates:
    """What is known so far about the settings of a wheel.

    `peak` (M,) is the exact peak toe change, NaN while unknown [rad]; `violation` (M,) is 0 where
    the setting fits, NaN while unknown, and otherwise at least how far a limit is exceeded;
    `clearance` (M,) is what the smallest gap of a row that fits is at most, or just that where
    `followed` (M,) says so, infinite without obstacles [mm];
    `solved` lists the rows in the order in which they were solved, `asked` those whose peak was
    asked for, known before or not.
    """

    def __init__(self, parts: Sequence[Part], over: OverCars | None = None) -> None:
        self.parts, self.over = tuple(parts), over
        self.settings: Settings = joined_settings([part.space.settings for part in parts])
        sizes = [len(part.space.settings) for part in parts]
        self.starts = np.concatenate([[0], np.cumsum(sizes)])
        self.peak = np.full(len(self.settings), np.nan)
        self.violation = np.full(len(self.settings), np.nan)
        self.clearance = np.full(len(self.settings), np.nan)
        self.followed = np.zeros(len(self.settings), dtype=bool)
        self.solved: list[int] = []
        self.asked: dict[int, None] = {}
        self._telling: dict[int, Places] = {}
        self._unsure: dict[int, Margin] = {}
        self._looked: list[tuple[Rows, list[Margin]]] = []

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

    def by_part(self, rows: Rows) -> list[tuple[int, Rows]]:
        """Parts that rows belong to, each with the places of its own among them."""
        parts = np.searchsorted(self.starts, rows, side="right") - 1
        return [(part, np.flatnonzero(parts == part)) for part in np.unique(parts).tolist()]

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
        new = rows[np.isnan(self.peak[rows])]
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
        """Check the rows against every limit where that is not done."""
        if len(rows) > FEW:
            self.find_broken(rows)
        for part, new in self._unknown(rows):
            found = margins(self.parts[part].evaluator, self.settings.rows(new))
            self.violation[new] = _violation(found)
            self.clearance[new] = clearance(found, new.size)
            if self.over is not None:
                self._find_unsure(new[self.violation[new] == 0.0])

    def find_clearances(self, rows: Rows) -> None:
        """Find just the smallest gap of the rows where that is not done."""
        self.find_margins(rows[~self.followed[rows]])

    def find_margins(self, rows: Rows) -> None:
        """Find the smallest gap and tilt margin of the rows, and where they are."""
        for part, places in self.by_part(rows):
            new = rows[places]
            evaluator = self.parts[part].evaluator
            found = margins(evaluator, self.settings.rows(new), follow="smallest")
            self._looked.append((new, found))
            self.clearance[new], self.followed[new] = clearance(found, new.size), True

    def find_broken(self, rows: Rows) -> None:
        """Find out most of the rows that don't fit: at the ends of travel and lock it shows.

        Once some are known, the one place that tells most of them is looked at before.
        """
        for part, new in self._unknown(rows):
            if part in self._telling:
                self._look(part, new, places=self._telling[part])
        for part, new in self._unknown(rows):
            found, worst = self._look(part, new, ends_only=True)
            if part not in self._telling and worst.any():
                self._telling[part] = _most_telling(found, worst)

    def fits(self, rows: Rows) -> NDArray[np.bool_]:
        """Whether each row keeps every limit, (N,) bool."""
        self.find_limits(rows)
        fitting: NDArray[np.bool_] = self.violation[rows] == 0.0
        return fitting

    def margins(self, row: int) -> list[Margin]:
        """Every limit of a row (1,), with where it is worst."""
        own = self.margins_of(np.array([row]))
        return own + ([self._unsure[row]] if row in self._unsure else [])

    def margins_of(self, rows: Rows) -> list[Margin]:
        """Every limit of some rows of one part (N,) on the car as measured, where it is worst."""
        self.find_clearances(rows)
        each = []
        for row in rows.tolist():
            among, found = next(looked for looked in self._looked if row in looked[0])
            each.append([margin.rows(np.flatnonzero(among == row)) for margin in found])
        return [Margin.joined(one) for one in zip(*each, strict=True)]

    def _find_unsure(self, rows: Rows) -> None:
        """Tell those of the rows of a part that keep every limit in too few of the cars."""
        if self.over is None or not rows.size:
            return
        evaluator = self.parts[self.place(int(rows[0]))[0]].evaluator
        share = self.over.limits_kept(evaluator, self.settings.rows(rows), self.margins_of(rows))
        short = np.maximum(0.0, self.over.kept - share)
        self.violation[rows] = short
        for row, kept in zip(rows[short > 0.0].tolist(), share[short > 0.0], strict=True):
            self._unsure[row] = unsure(kept, self.over.kept)

    def _look(
        self, part: int, rows: Rows, *, ends_only: bool = False, places: Places | None = None
    ) -> tuple[list[Margin], Array]:
        """Look at unknown rows at some places only: what is broken there doesn't fit."""
        evaluator, settings = self.parts[part].evaluator, self.settings.rows(rows)
        found = margins(evaluator, settings, ends_only=ends_only, places=places)
        worst = _violation(found)
        self.violation[rows] = np.where(worst > 0.0, worst, np.nan)
        return found, worst

    def _unknown(self, rows: Rows) -> list[tuple[int, Rows]]:
        """Those of the rows whose limits are not known, by part."""
        new = rows[np.isnan(self.violation[rows])]
        return [(part, new[places]) for part, places in self.by_part(new)]

    def _by_motion(self, rows: Rows) -> list[tuple[Rows, Evaluator]]:
        """Rows by the evaluator that moves them: kits share one, for poses depend on none."""
        parts = np.searchsorted(self.starts, rows, side="right") - 1
        found: dict[int, tuple[list[int], Evaluator]] = {}
        for part in np.unique(parts).tolist():
            evaluator = self.parts[part].evaluator
            found.setdefault(id(evaluator.corner), ([], evaluator))[0].append(part)
        return [(rows[np.isin(parts, some)], one) for some, one in found.values()]


def sharing_poses(evaluators: Sequence[Evaluator]) -> list[Evaluator]:
    """Let evaluators of one car, which differ in their limits only, share what they solve."""
    first = evaluators[0]
    return [replace(first, case=one.case) for one in evaluators]


def clearance(found: list[Margin], rows: int) -> Array:
    """Smallest gap of each of the rows, (M,); infinite where no obstacle is stated. [mm]."""
    gaps = [margin.value for margin in found if margin.kind == "gap"]
    return np.min(gaps, axis=0) if gaps else np.full(rows, np.inf)


def unsure(kept: float, wanted: float) -> Margin:
    """The limit that a setting breaks whose limits are kept in too few of the possible cars."""
    share, short, at = np.array([kept]), np.array([kept - wanted]), np.zeros(1)
    return Margin("chance", "every limit", share, wanted, short, at, at)


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
