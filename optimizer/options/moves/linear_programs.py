"""Least peak toe change of one pivot near a start, by linear programs about it.

    least  p + farther * distance   so that   -p <= toe change <= p at every height,
                                              every limit kept at every place, moves in their box

Toe changes and what limits leave are nearly straight lines in the moves, so the problem is nearly a
linear program.  It is solved as one about the pivot, again and again about what it leads to, within
a radius that shrinks where the lines promised too much (K. Madsen, 1975; from memory).  Its answers
are corners of a polytope, at which each step squares the error.
"""

from functools import cache

import highspy
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.limits.margins import Places
from optimizer.options.moves.scores import FARTHER, OUT_OF_REACH, CustomScores, distance
from optimizer.options.moves.space import Choice


def least_cost(cost: Array, rows: Array, at_most: Array, low: Array, high: Array) -> Array | None:
    """Solve for the x (N,) of least cost . x with rows . x <= at_most and low <= x <= high.

    `rows` are (M, N).  None where there is no such x.  HiGHS is called without a larger package:
    `scipy.optimize` calls it too, but its import alone takes longer than dozens of such programs.
    """
    count, unknowns = rows.shape
    program = highspy.HighsLp()
    program.num_row_, program.num_col_ = count, unknowns
    program.col_cost_, program.col_lower_, program.col_upper_ = cost, low, high
    program.row_lower_, program.row_upper_ = np.full(count, -np.inf), at_most
    matrix = program.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.arange(count + 1) * unknowns
    matrix.index_ = np.tile(np.arange(unknowns), count)
    matrix.value_ = rows.ravel()
    solver = _solver()
    solver.passModel(program)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return np.array(solver.getSolution().col_value)


class _Quiet(highspy.Highs):
    """HiGHS without a word: version 1.16 greets on stdout unless told otherwise at once."""

    def enableCallbacks(self) -> None:  # highspy asks for this name, first of all
        self.setOptionValue("output_flag", False)


@cache
def _solver() -> highspy.Highs:
    solver = _Quiet()  # type: ignore[no-untyped-call]
    solver.setOptionValue("threads", 1)  # so that every run goes the same way
    return solver


TOE_UNIT = float(np.radians(1e-3))  # in which the solver sees toe, so that all it sees is near 1
PER_MM = FARTHER / TOE_UNIT
DEAR = 1e6  # TOE_UNIT that a limit exceeded by 1 mm or deg costs: more than toe could ever pay
SPARE = 0.02  # mm or deg by which limits are kept, so that rounding breaks none
SLACK = 0.25 * SPARE  # of it, that a step may use up
STEP = 1e-4  # mm, of the difference quotients
STEPS = 16
GAIN = 1e-4  # TOE_UNIT; what gains less than this is the last
NARROWEST = 1e-3  # mm
NEARER = np.array([0.75, 0.5, 0.25, 0.0])  # shares of moves that lead out of reach, tried in turn


class _Promise(Struct, frozen=True):
    """Cost [TOE_UNIT] of a pivot and by how much its worst limit falls short. [mm or deg]."""

    cost: float
    short: float

    @property
    def keeps_limits(self) -> bool:
        """Whether no limit falls short by more than a step may use up."""
        return self.short <= SLACK

    def better_than(self, other: "_Promise") -> bool:
        """Whether it costs less where both keep the limits, else whether it falls less short."""
        if self.keeps_limits and other.keeps_limits:
            return self.cost < other.cost - GAIN
        return self.short < other.short - SLACK


class Seen(_Promise, frozen=True):
    """A pivot's moves (6,) [mm], toe changes (H,) [TOE_UNIT], and what limits leave (N,).

    The slopes are by the moves that are free, (D, H) and (D, N).
    """

    moves: Array
    toe: Array
    toe_slope: Array
    spare: Array
    spare_slope: Array


class Problem(Struct, frozen=True):
    """The problem for one choice (4,) of hardware, stack, rack raise and linkage.

    A pivot may move by `most` along all axes together [mm]; limits are kept at `places`, those of
    obstacles only if asked for, and take no part where there are no places.  A millimeter of move
    must save `per_mm`. [TOE_UNIT]
    """

    scores: CustomScores
    choice: Choice
    most: float
    places: Places | None = None
    obstacles: bool = True
    per_mm: float = PER_MM

    def solved(self, start: Array) -> "Seen":
        """Best pivot near a start (6,) [mm]; it may fall short where none near it keeps all limits.

        Where the start can't be reached, one nearer to the standard place is taken if it can.
        """
        space = self.scores.space
        here = self.seen(np.clip(start, space.low, space.high))
        if here.short >= OUT_OF_REACH:
            nearer = np.clip(NEARER[:, None] * start, space.low, space.high)
            _, _, stuck = self._look(nearer)
            if stuck.all():
                return here
            here = self.seen(nearer[np.argmin(stuck)])
        radius = float(np.max(space.high - space.low))
        for _ in range(STEPS):
            moves, promised = self.step(here, radius)
            if radius < NARROWEST or not promised.better_than(here):
                break
            there = self.seen(moves)
            if there.better_than(here):
                here = there
            else:
                radius = 0.25 * float(np.max(np.abs(moves - here.moves)))
        return here

    def seen(self, moves: Array) -> Seen:
        """Look at a pivot, and a little beside it along each free move."""
        free = self.scores.space.free
        around = np.tile(moves, (free.size + 1, 1))
        around[np.arange(1, free.size + 1), free] += STEP
        toe, spare, stuck = self._look(around)
        with np.errstate(invalid="ignore"):  # infinite where a limit says nothing
            slopes = [(x[1:] - x[0]) / STEP for x in (toe, spare)]
        return Seen(
            cost=float(np.abs(toe[0]).max() + self.per_mm * distance(moves)),
            short=OUT_OF_REACH
            if stuck.any()
            else max(0.0, SPARE - float(spare.min(initial=np.inf))),
            moves=moves,
            toe=toe[0],
            toe_slope=slopes[0],
            spare=spare[0],
            spare_slope=slopes[1],
        )

    def _look(self, moves: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
        """Toe changes of pivots (M, 6), what limits leave, and whether the linkage is stuck."""
        toe = self.scores.toe_change(np.tile(self.choice, (len(moves), 1)), moves) / TOE_UNIT
        stuck: NDArray[np.bool_] = np.any(np.isnan(toe), axis=1)
        if self.places is None:
            return toe, np.full((len(moves), 1), np.inf), stuck
        follows, spare = self.scores.spare(
            self.choice, moves, self.places, obstacles=self.obstacles
        )
        stuck |= ~follows
        return toe, spare, stuck

    def step(self, here: Seen, radius: float) -> tuple[Array, _Promise]:
        """Best moves within a radius if everything were a straight line, and what they promise.

        The unknowns are the steps, the distances moved along each axis, the peak, and by how much
        the worst limit falls short.
        """
        space = self.scores.space
        free, count, eye = space.free, space.free.size, np.eye(space.free.size)
        moves = here.moves[free]
        told = np.isfinite(here.spare_slope).all(axis=0)
        told &= here.spare - radius * np.abs(here.spare_slope).sum(axis=0) < SPARE
        toe, spare = here.toe_slope.T, here.spare_slope.T[told]
        rows = np.vstack(
            [
                _rows(toe, np.zeros_like(toe), peak=-1.0),
                _rows(-toe, np.zeros_like(toe), peak=-1.0),
                _rows(eye, -eye),
                _rows(-eye, -eye),
                _rows(-spare, np.zeros_like(spare), short=-1.0),
                _rows(np.zeros((1, count)), np.ones((1, count))),
            ]
        )
        at_most = np.concatenate(
            [-here.toe, here.toe, -moves, moves, here.spare[told] - SPARE, [self.most]]
        )
        rest = np.zeros(count + 2)
        answer = least_cost(
            np.concatenate([np.zeros(count), np.full(count, self.per_mm), [1.0, DEAR]]),
            rows,
            at_most,
            low=np.append(np.maximum(space.low[free] - moves, -radius), rest),
            high=np.append(np.minimum(space.high[free] - moves, radius), rest + np.inf),
        )
        if answer is None:  # no case is known in which the solver gives up
            return here.moves, here
        *steps, peak, short = answer.tolist()
        there = here.moves.copy()
        there[free] = np.clip(moves + steps[:count], space.low[free], space.high[free])
        cost = peak + self.per_mm * float(distance(there))
        return there, _Promise(cost, max(0.0, short))


def _rows(steps: Array, moved: Array, peak: float = 0.0, short: float = 0.0) -> Array:
    """Rows of the linear program: factors of the steps, of the distances, of peak and of short."""
    return np.hstack([steps, moved, np.tile([peak, short], (len(steps), 1))])
