"""Scores of custom pivots: peak toe change, distance moved, and what a limit is exceeded by."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows
from optimizer.limits.followed import Follow
from optimizer.limits.margins import Margin, Places, clearance, first_places, margins, spare
from optimizer.options.moves.space import HARDWARE, Choice, CustomSpace

FARTHER = float(np.radians(1e-3))  # toe change that a millimeter of move must save to be worth it
OUT_OF_REACH = 1e3  # mm or deg; that the linkage can't follow is worse than any limit exceeded


class CustomScores(Struct):
    """Scores custom pivots of one wheel, and counts how many it has scored.

    `evaluators` has one for each alternative of hardware in the space; those of one alignment share
    their poses and differ in their limits only.
    """

    evaluators: Sequence[Evaluator]
    space: CustomSpace
    scored: int = 0

    @property
    def evaluator(self) -> Evaluator:
        """Evaluator for what is the same with every alternative."""
        return self.evaluators[0]

    def toe_change(self, choices: Choice, moves: Array) -> Array:
        """Exact toe change of pivots (M, H); NaN out of reach. [rad]."""
        self.scored += len(moves)
        change = np.empty((len(moves), self.evaluator.travel.size))
        for rows, evaluator in self._by_motion(choices):
            settings = self.space.settings(choices[rows], moves[rows])
            change[rows] = evaluator.toe_change(settings)
        return change

    def peak(self, choices: Choice, moves: Array) -> Array:
        """Exact peak toe change of pivots, (M,); infinite out of reach. [rad]."""
        peak = np.abs(self.toe_change(choices, moves)).max(axis=1)
        return np.where(np.isnan(peak), np.inf, peak)

    def steer_rate(self, choices: Choice, moves: Array) -> Array:
        """Toe per rack travel, straight ahead at ride height, (M,). [rad/mm]."""
        rate = np.empty(len(moves))
        for rows, evaluator in self._by_motion(choices):
            rate[rows] = evaluator.steer_rate(self.space.settings(choices[rows], moves[rows]))
        return rate

    def margins(
        self, choices: Choice, moves: Array, follow: Follow | None = "undecided"
    ) -> list[Margin]:
        """Every limit of pivots that all have one alternative of hardware.

        Limits are followed as `optimizer.limits.margins` says; with None only looked at where that
        starts.
        """
        (hardware,) = np.unique(choices[:, HARDWARE])
        evaluator, settings = self.evaluators[hardware], self.space.settings(choices, moves)
        if follow is None:
            return margins(evaluator, settings, places=first_places(evaluator))
        return margins(evaluator, settings, follow=follow)

    def spare(
        self, choice: Choice, moves: Array, places: Places, *, obstacles: bool
    ) -> tuple[NDArray[np.bool_], Array]:
        """Whether pivots (M, 6) of a choice (4,) follow, and what limits leave at some places."""
        settings = self.space.settings(np.tile(choice, (len(moves), 1)), moves)
        evaluator = self.evaluators[choice[HARDWARE]]
        return spare(evaluator, settings, places, obstacles=obstacles)

    def violation_and_clearance(
        self, choices: Choice, moves: Array, follow: Follow | None = "smallest"
    ) -> tuple[Array, Array]:
        """Worst limit exceeded by each pivot, 0 where it fits, and its smallest gap, (M,) each.

        The first is in mm or deg; the second is infinite where no obstacle is stated. [mm]
        """
        violation, gap = np.empty(len(moves)), np.empty(len(moves))
        for hardware in np.unique(choices[:, HARDWARE]):
            rows = np.flatnonzero(choices[:, HARDWARE] == hardware)
            limits = self.margins(choices[rows], moves[rows], follow)
            violation[rows], gap[rows] = exceeded(limits), clearance(limits, rows.size)
        return violation, gap

    def _by_motion(self, choices: Choice) -> list[tuple[Rows, Evaluator]]:
        """Rows by the evaluator that moves them; only an alignment of its own moves otherwise."""
        corners = np.array([id(one.corner) for one in self.evaluators])[choices[:, HARDWARE]]
        found = []
        for corner in np.unique(corners):
            rows = np.flatnonzero(corners == corner)
            found.append((rows, self.evaluators[choices[rows[0], HARDWARE]]))
        return found


def exceeded(limits: list[Margin]) -> Array:
    """Worst limit that each candidate exceeds, (M,), 0 where it fits. [mm or deg]."""
    short = [-limit.margin * (OUT_OF_REACH if limit.kind == "reach" else 1.0) for limit in limits]
    worst: Array = np.maximum(0.0, np.max(short, axis=0))
    return worst


def score(peak: Array, moves: Array) -> Array:
    """What is minimized: peak toe change, and a little for every millimeter of move. [rad]."""
    return peak + FARTHER * distance(moves)


def distance(moves: Array) -> Array:
    """Moves along all axes added up, (..., 6) to (...). [mm]."""
    total: Array = np.abs(moves).sum(axis=-1)
    return total


class Pivots(Struct, frozen=True):
    """Custom pivots that were scored: `choices` (M, 4), `moves` (M, 6) [mm], `peak` (M,) [rad].

    `violation` (M,) is 0 where the pivot fits, otherwise the worst limit exceeded.
    """

    choices: Choice
    moves: Array
    peak: Array
    violation: Array

    @property
    def score(self) -> Array:
        """What is minimized, (M,). [rad]."""
        return score(self.peak, self.moves)

    def order(self) -> Rows:
        """Rows, best first: those that fit by score, then the others by how far they don't."""
        return np.lexsort([self.score, self.violation])

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


def scored(
    scores: CustomScores, choices: Choice, moves: Array, follow: Follow | None = "undecided"
) -> Pivots:
    """Score pivots exactly and check them against every limit."""
    violation, _ = scores.violation_and_clearance(choices, moves, follow)
    return Pivots(choices, moves, scores.peak(choices, moves), violation)
