"""The last step of a search in continuous moves: least peak toe change under every limit.

    least  p + farther * distance   so that   -p <= toe change <= p at every height,
                                              every limit kept at every place, moves in their box

Toe changes and what limits leave are nearly straight lines in the moves, so the problem is nearly a
linear program.  It is solved as one about the pivot, again and again about what it leads to, within
a radius that shrinks where the lines promised too much (Madsen 1975; from memory).  Its answers are
corners of a polytope, where each step squares the error.

Limits are kept at places of travel x lock.  Where the answer breaks one between them, the place at
which it does so is added and the problem solved anew (the exchange method of semi-infinite
programming; R. Hettich, K. O. Kortanek, 1993; from memory).
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog

from geometry.vectors import Array
from optimizer.limits.margins import Places, first_places
from optimizer.options.moves.scores import (
    FARTHER,
    OUT_OF_REACH,
    CustomScores,
    Pivots,
    distance,
    scored,
)
from optimizer.options.moves.space import Choice

SHARES = np.array([1.0, 0.75, 0.5, 0.25, 0.0])  # of moves that lead out of reach, tried in turn
TOE_UNIT = float(np.radians(1e-3))  # in which the solver sees toe, so that all it sees is near 1
PER_MM = FARTHER / TOE_UNIT
DEAR = 1e6  # TOE_UNIT that a limit exceeded by 1 mm or deg costs: more than toe could ever pay
SPARE = 0.02  # mm or deg by which limits are kept, so that rounding breaks none
SLACK = 0.25 * SPARE  # of it, that a step may use up
STEP = 1e-4  # mm, of the difference quotients
STEPS = 16
EXCHANGES = 4
FAR = 1e4  # mm; farther than any box
GAIN = 1e-4  # TOE_UNIT; what gains less than this is the last
NARROWEST = 1e-3  # mm


def refined(scores: CustomScores, choice: Choice, start: Array, *, most: float = FAR) -> Pivots:
    """Refine one pivot within its box and, where that breaks a limit, under every limit; one row.

    Takes what `polished` does.
    """
    moves = polished(scores, choice, start, most=most)
    found = scored(scores, choice[None], moves[None])
    if found.violation[0] == 0.0:
        return found
    places = first_places(scores.evaluator)
    for _ in range(EXCHANGES):
        moves = polished(scores, choice, moves, most=most, places=places)
        found = scored(scores, choice[None], moves[None])
        rack, travel = _places_between(scores, choice, moves, places)
        if found.violation[0] == 0.0 or not rack.size:
            break
        places = np.append(places[0], rack), np.append(places[1], travel)
    return found


def _places_between(scores: CustomScores, choice: Choice, moves: Array, known: Places) -> Places:
    """Rack travel and wheel travel of places at which a pivot breaks a limit, beside the known."""
    found = scores.margins(choice[None], moves[None])
    broken = [one for one in found if one.kind in ("tilt", "gap") and one.margin[0] < 0.0]
    worst = {(float(one.rack_travel[0]), float(one.travel[0])) for one in broken}
    new = sorted(worst - set(zip(*(side.tolist() for side in known), strict=True)))
    rack, travel = np.array(new).reshape(-1, 2).T
    return rack, travel


def polished(
    scores: CustomScores,
    choice: Choice,
    start: Array,
    *,
    most: float = FAR,
    places: Places | None = None,
) -> Array:
    """Refine one pivot within its box and, at `places` if there are any, under every limit.

    Parameters
    ----------
    scores : CustomScores
        The case and its space.
    choice : (4,) int array
        Hardware, stack, rack raise and linkage; they stay.
    start : (6,) float array
        Moves to start from. [mm]
    most : float
        How far the pivot may move along all axes together; the start lies within. [mm]

    Returns
    -------
    (6,) float array
        The best moves near the start, as a drawing would state them; they may still break a limit
        where none near it fit. [mm]
    """
    problem = _Problem(scores, choice, most, places)
    space = scores.space
    nearer = (problem.seen(np.clip(share * start, space.low, space.high)) for share in SHARES)
    here = next((one for one in nearer if one.short < OUT_OF_REACH), None)
    if here is None:
        return space.as_made(start)
    radius = float(np.max(space.high - space.low))
    for _ in range(STEPS):
        moves, promised = problem.step(here, radius)
        if not promised.better_than(here):
            break
        there = problem.seen(moves)
        if there.better_than(here):
            here = there
        else:
            radius = 0.25 * float(np.max(np.abs(moves - here.moves)))
            if radius < NARROWEST:
                break
    return space.as_made(here.moves)


@dataclass(frozen=True)
class _Promise:
    """Cost [TOE_UNIT] of a pivot and by how much its worst limit falls short. [mm or deg]."""

    cost: float
    short: float

    def better_than(self, other: "_Promise") -> bool:
        """Whether it costs less where both keep the limits, else whether it falls less short."""
        if max(self.short, other.short) <= SLACK:
            return self.cost < other.cost - GAIN
        return self.short < other.short - SLACK


@dataclass(frozen=True)
class _Seen(_Promise):
    """A pivot's moves (6,) [mm], toe changes (H,) [TOE_UNIT], and what limits leave (N,).

    The slopes are by the moves that are free, (D, H) and (D, N).
    """

    moves: Array
    toe: Array
    toe_slope: Array
    spare: Array
    spare_slope: Array


@dataclass(frozen=True)
class _Problem:
    """The problem for one choice."""

    scores: CustomScores
    choice: Choice
    most: float
    places: Places | None

    def seen(self, moves: Array) -> _Seen:
        """Look at a pivot, and a little beside it along each free move."""
        free = self.scores.space.free
        around = np.tile(moves, (free.size + 1, 1))
        around[np.arange(1, free.size + 1), free] += STEP
        choices = np.broadcast_to(self.choice, (len(around), self.choice.size))
        toe = self.scores.toe_change(choices, around) / TOE_UNIT
        follows, spare = np.array([True]), np.full((len(around), 1), np.inf)
        if self.places is not None:
            follows, spare = self.scores.spare(self.choice, around, self.places)
        stuck = np.isnan(toe).any() or not follows.all()
        with np.errstate(invalid="ignore"):  # infinite where a limit says nothing
            slopes = [(x[1:] - x[0]) / STEP for x in (toe, spare)]
        return _Seen(
            cost=float(np.abs(toe[0]).max() + PER_MM * distance(moves)),
            short=OUT_OF_REACH if stuck else max(0.0, SPARE - float(spare.min(initial=np.inf))),
            moves=moves,
            toe=toe[0],
            toe_slope=slopes[0],
            spare=spare[0],
            spare_slope=slopes[1],
        )

    def step(self, here: _Seen, radius: float) -> tuple[Array, _Promise]:
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
        low = np.maximum(space.low[free] - moves, -radius).tolist()
        high = np.minimum(space.high[free] - moves, radius).tolist()
        answer = linprog(
            np.concatenate([np.zeros(count), np.full(count, PER_MM), [1.0, DEAR]]),
            A_ub=rows,
            b_ub=at_most,
            bounds=[*zip(low, high, strict=True), *[(0.0, None)] * (count + 2)],
        )
        if answer.x is None:  # no case is known in which the solver gives up
            return here.moves, here
        *steps, peak, short = answer.x.tolist()
        there = here.moves.copy()
        there[free] = np.clip(moves + steps[:count], space.low[free], space.high[free])
        cost = peak + PER_MM * float(distance(there))
        return there, _Promise(cost, max(0.0, short))


def _rows(steps: Array, moved: Array, peak: float = 0.0, short: float = 0.0) -> Array:
    """Rows of the linear program: factors of the steps, of the distances, of peak and of short."""
    return np.hstack([steps, moved, np.tile([peak, short], (len(steps), 1))])
