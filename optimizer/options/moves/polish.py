"""The last step of a search in continuous moves: least peak toe change under every limit.

The peak is the largest of many smooth functions, so it has edges; written as "the least p that no
toe change exceeds" the problem is smooth, and sequential quadratic programming settles it:

    least  p + farther * distance   so that   -p <= toe change <= p at every height,
                                              every margin >= 0, every move within its box

Margins are kept at places of travel x lock.  Where the answer breaks a limit between them, the
place at which it does so is added and the problem solved anew (the exchange method of semi-infinite
programming; R. Hettich, K. O. Kortanek, 1993; from memory).
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, minimize

from geometry.vectors import Array
from optimizer.limits.margins import Places, first_places
from optimizer.options.moves.scores import FARTHER, OUT_OF_REACH, CustomScores, distance
from optimizer.options.moves.space import Choice

SHARES = np.array([0.75, 0.5, 0.25, 0.0])  # of moves that lead out of reach, tried in turn
TOE_UNIT = float(np.radians(1e-3))  # in which the solver sees toe, so that all it sees is near 1
NO_TOE = 1e5  # toe change, in that unit, that stands for none
WIDEST_MARGIN = 100.0  # mm or deg; a limit farther off than this takes no part
SPARE = 0.02  # mm or deg by which limits are kept, so that rounding breaks none
STEP = 1e-4  # mm, of the difference quotients
STEPS = 20
MOST_POINTS = 40
EXCHANGES = 4
GAIN = 1e-3  # TOE_UNIT; a step that gains less than this is the last


def polished(
    scores: CustomScores, choice: Choice, start: Array, *, farther: float = FARTHER
) -> Array:
    """Refine one pivot within its box and, where that breaks a limit, under every limit.

    Parameters
    ----------
    scores : CustomScores
        The case and its space.
    choice : (4,) int array
        Kit, stack, rack raise and ball-joint drop; they stay.
    start : (6,) float array
        Moves to start from. [mm]
    farther : float
        Toe change that a millimeter of move must save to be worth it. [rad/mm]

    Returns
    -------
    (6,) float array
        The best moves near the start; they may still break a limit where none near it fit. [mm]
    """
    free = _refined(_Surroundings(scores, choice, start, farther))
    violation = scores.violation(choice[None], free[None])[0]
    if violation == 0.0:
        return free
    if violation >= OUT_OF_REACH:  # margins say nothing where nothing moves
        nearer = np.clip(SHARES[:, None] * free, scores.space.low, scores.space.high)
        apart = scores.violation(np.tile(choice, (len(nearer), 1)), nearer)
        if (apart >= OUT_OF_REACH).all():
            return free
        free = nearer[np.argmax(apart < OUT_OF_REACH)]
    places = first_places(scores.evaluator)
    for _ in range(EXCHANGES):
        free = _refined(_Surroundings(scores, choice, free, farther, places))
        worse = _places_between(scores, choice, free, places)
        if not worse[0].size:
            break
        places = np.append(places[0], worse[0]), np.append(places[1], worse[1])
    return free


def _places_between(scores: CustomScores, choice: Choice, moves: Array, known: Places) -> Places:
    """Rack travel and wheel travel of places at which a pivot breaks a limit, beside the known."""
    found = scores.margins(choice[None], moves[None])
    broken = [one for one in found if one.kind in ("tilt", "gap") and one.margin[0] < 0.0]
    worst = {(float(one.rack_travel[0]), float(one.travel[0])) for one in broken}
    new = sorted(worst - set(zip(*(side.tolist() for side in known), strict=True)))
    rack, travel = np.array(new).reshape(-1, 2).T
    return rack, travel


@dataclass
class _Surroundings:
    """The problem about one pivot, in the free moves [mm] and the peak [TOE_UNIT] as unknowns.

    `places` are those at which the limits are kept, None where limits take no part.
    """

    scores: CustomScores
    choice: Choice
    start: Array
    farther: float
    places: Places | None = None
    known: dict[bytes, tuple[Array, Array]] = field(default_factory=dict)

    def moves(self, unknowns: Array) -> Array:
        """All six moves, (..., D + 1) to (..., 6). [mm]."""
        moves = np.broadcast_to(self.start, (*unknowns.shape[:-1], 6)).copy()
        moves[..., self.scores.space.free] = unknowns[..., :-1]
        return moves

    def cost(self, unknowns: Array) -> float:
        """Peak, and a little for every millimeter of move."""
        return float(unknowns[-1] + self.farther / TOE_UNIT * distance(self.moves(unknowns)))

    def kept(self, unknowns: Array) -> tuple[Array, Array]:
        """What must not be negative, (C,), and its slopes, (C, D + 1)."""
        key = unknowns.tobytes()
        if key not in self.known:
            around = np.repeat(self.moves(unknowns)[None], unknowns.size, axis=0)
            free = self.scores.space.free
            around[np.arange(1, unknowns.size), free] += STEP
            toe, spare = self._toe(around), self._spare(around)
            values = np.concatenate([unknowns[-1] - toe[0], unknowns[-1] + toe[0], spare[0]])
            toe_slope, spare_slope = ((x[1:] - x[0]).T / STEP for x in (toe, spare))
            by_move = np.concatenate([-toe_slope, toe_slope, spare_slope])
            by_peak = np.repeat([1.0, 0.0], [2 * len(toe_slope), len(spare_slope)])
            self.known[key] = values, np.column_stack([by_move, by_peak])
        return self.known[key]

    def stop_where_lost(self, xk: Array) -> None:  # scipy asks for this name
        """Give up after many points: what does not settle soon has no pivot that fits near it."""
        if len(self.known) > MOST_POINTS:
            raise StopIteration

    def first(self) -> Array:
        """Unknowns to start from."""
        peak = np.abs(self._toe(self.start[None])).max()
        return np.append(self.start[self.scores.space.free], peak)

    def _toe(self, moves: Array) -> Array:
        """Toe change of pivots, (M, H). [TOE_UNIT]."""
        toe = self.scores.toe_change(self._choices(moves), moves) / TOE_UNIT
        return np.nan_to_num(toe, nan=NO_TOE)

    def _spare(self, moves: Array) -> Array:
        """What every limit leaves, (M, L); none where limits take no part. [mm or deg]."""
        if self.places is None:
            return np.empty((len(moves), 0))
        found = self.scores.margins(self._choices(moves), moves, places=self.places)
        spare = [np.empty((len(moves), 0))]  # reach is a yes or no: nothing to go along
        spare += [limit.margin[:, None] for limit in found if limit.kind != "reach"]
        return np.clip(np.hstack(spare) - SPARE, -WIDEST_MARGIN, WIDEST_MARGIN)

    def _choices(self, moves: Array) -> Choice:
        return np.broadcast_to(self.choice, (len(moves), self.choice.size))


def _refined(problem: _Surroundings) -> Array:
    """Solve the problem from its start. [mm]."""
    space = problem.scores.space
    answer = minimize(
        problem.cost,
        problem.first(),
        method="SLSQP",
        bounds=Bounds(
            np.append(space.low[space.free], 0.0), np.append(space.high[space.free], np.inf)
        ),
        constraints=NonlinearConstraint(
            lambda unknowns: problem.kept(unknowns)[0],
            0.0,
            np.inf,
            jac=lambda unknowns: problem.kept(unknowns)[1],
        ),
        callback=problem.stop_where_lost,
        options={"maxiter": STEPS, "ftol": GAIN},
    )
    return np.clip(problem.moves(answer.x), space.low, space.high)
