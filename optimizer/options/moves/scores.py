"""Scores of custom pivots: peak toe change, distance moved, and what a limit is exceeded by."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.car.adjust import Rows
from optimizer.car.evaluate import Evaluator
from optimizer.limits.followed import Follow
from optimizer.limits.margins import Margin, Places, margins
from optimizer.options.candidates import clearance
from optimizer.options.moves.space import Choice, CustomSpace

FARTHER = float(np.radians(1e-3))  # toe change that a millimeter of move must save to be worth it
OUT_OF_REACH = 1e3  # mm or deg; that the linkage can't follow is worse than any limit exceeded
ROUNDED = 0.1  # mm; a move much smaller than this counts as none, so that a slope exists at 0


@dataclass
class CustomScores:
    """Scores custom pivots of one car, and counts how many it has scored.

    `evaluators` has one for each kit of the space; they differ in their limits only.
    """

    evaluators: Sequence[Evaluator]
    space: CustomSpace
    scored: int = 0

    @property
    def evaluator(self) -> Evaluator:
        """Evaluator for what is the same with every kit."""
        return self.evaluators[0]

    def toe_change(self, choices: Choice, moves: Array) -> Array:
        """Exact toe change of pivots (M, H); NaN out of reach. [rad]."""
        self.scored += len(moves)
        return self.evaluator.toe_change(self.space.settings(choices, moves))

    def peak(self, choices: Choice, moves: Array) -> Array:
        """Exact peak toe change of pivots, (M,); infinite out of reach. [rad]."""
        peak = np.abs(self.toe_change(choices, moves)).max(axis=1)
        return np.where(np.isnan(peak), np.inf, peak)

    def margins(
        self,
        choices: Choice,
        moves: Array,
        *,
        places: Places | None = None,
        follow: Follow = "undecided",
    ) -> list[Margin]:
        """Every limit of pivots that all have one kit, see `optimizer.limits.margins`."""
        (kit,) = np.unique(choices[:, 0])
        settings = self.space.settings(choices, moves)
        return margins(self.evaluators[kit], settings, places=places, follow=follow)

    def violation_and_clearance(
        self, choices: Choice, moves: Array, *, follow: Follow = "smallest"
    ) -> tuple[Array, Array]:
        """Worst limit exceeded by each pivot, 0 where it fits, and its smallest gap, (M,) each.

        The first is in mm or deg; the second is infinite where no obstacle is stated. [mm]
        """
        violation, gap = np.empty(len(moves)), np.empty(len(moves))
        for kit in np.unique(choices[:, 0]):
            rows = np.flatnonzero(choices[:, 0] == kit)
            limits = self.margins(choices[rows], moves[rows], follow=follow)
            violation[rows], gap[rows] = exceeded(limits), clearance(limits, rows.size)
        return violation, gap

    def violation(self, choices: Choice, moves: Array) -> Array:
        """Worst limit exceeded by each pivot, (M,), 0 where it fits. [mm or deg]."""
        return self.violation_and_clearance(choices, moves, follow="undecided")[0]


def exceeded(limits: list[Margin]) -> Array:
    """Worst limit that each candidate exceeds, (M,), 0 where it fits. [mm or deg]."""
    short = [-limit.margin * (OUT_OF_REACH if limit.kind == "reach" else 1.0) for limit in limits]
    worst: Array = np.maximum(0.0, np.max(short, axis=0))
    return worst


def score(peak: Array, moves: Array) -> Array:
    """What is minimized: peak toe change, and a little for every millimeter of move. [rad]."""
    return peak + FARTHER * distance(moves)


def distance(moves: Array) -> Array:
    """Moves along all axes added up, their corners at 0 rounded off, (..., 6) to (...). [mm]."""
    total: Array = (np.hypot(moves, ROUNDED) - ROUNDED).sum(axis=-1)
    return total


@dataclass(frozen=True)
class Pivots:
    """Custom pivots that were scored: `choices` (M, 4), `moves` (M, 6) [mm], `peak` (M,) [rad].

    `violation` (M,) is 0 where the pivot fits, otherwise the worst limit exceeded.
    """

    choices: Choice
    moves: Array
    peak: Array
    violation: Array

    def order(self) -> Rows:
        """Rows, best first: those that fit by score, then the others by how far they don't."""
        return np.lexsort([score(self.peak, self.moves), self.violation])

    def rows(self, which: Rows) -> "Pivots":
        """Pick some of the pivots."""
        return Pivots(
            self.choices[which], self.moves[which], self.peak[which], self.violation[which]
        )


def joined(parts: Sequence[Pivots]) -> Pivots:
    """Put pivots one after another."""
    return Pivots(
        np.concatenate([part.choices for part in parts]),
        np.concatenate([part.moves for part in parts]),
        np.concatenate([part.peak for part in parts]),
        np.concatenate([part.violation for part in parts]),
    )


def scored(scores: CustomScores, choices: Choice, moves: Array) -> Pivots:
    """Score pivots exactly and check them against every limit."""
    return Pivots(choices, moves, scores.peak(choices, moves), scores.violation(choices, moves))
