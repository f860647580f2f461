"""The last step of a search in continuous moves: one pivot refined under every limit.

Limits are kept at places of travel x lock.  Where the answer breaks one between them, the place at
which it does so is added and the problem solved anew (the exchange method of semi-infinite
programming; R. Hettich, K. O. Kortanek, 1993; from memory).
"""

import numpy as np

from geometry.vectors import Array
from optimizer.limits.margins import Margin, Places, first_places
from optimizer.options.moves.linear_programs import PER_MM, Problem
from optimizer.options.moves.scores import CustomScores, Pivots, exceeded, score
from optimizer.options.moves.space import Choice

FAR = 1e4  # mm; farther than any box
EXCHANGES = 4


def refined(
    scores: CustomScores,
    choice: Choice,
    start: Array,
    *,
    most: float = FAR,
    free: bool = True,
    per_mm: float = PER_MM,
) -> Pivots:
    """Refine one pivot within its box and, where that breaks a limit, under every limit.

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
    free : bool
        Whether to see first where the pivot would go if there were no limits.
    per_mm : float
        Toe change that a millimeter of move must save. [TOE_UNIT]

    Returns
    -------
    Pivots
        One row: the best pivot near the start, as a drawing would state it; it may still break a
        limit where none near it fits.
    """
    moves = start
    if free:
        moves = refined_without_limits(scores, choice, start, most=most, per_mm=per_mm)
    found, limits = _checked(scores, choice, moves)
    places = first_places(scores.evaluator)
    for exchange in range(EXCHANGES):
        if found.violation[0] == 0.0 and (free or exchange):
            break
        places = _with_broken(places, limits)
        before = found.moves[0]
        moves = Problem(scores, choice, most, places, per_mm=per_mm).solved(moves).moves
        found, limits = _checked(scores, choice, scores.space.as_made(moves))
        if (found.moves[0] == before).all():
            break
    return found


def refined_without_limits(
    scores: CustomScores,
    choice: Choice,
    start: Array,
    *,
    most: float = FAR,
    per_mm: float = PER_MM,
) -> Array:
    """Refine one pivot within its box alone, (6,), see `refined`. [mm]."""
    return scores.space.as_made(Problem(scores, choice, most, per_mm=per_mm).solved(start).moves)


def least_score(scores: CustomScores, choice: Choice, start: Array) -> float:
    """Score of the best pivot if there were no obstacles, infinite where none fits. [rad].

    Of all limits gaps alone leave out a middle, on whose other side a better pivot may be found
    than a refinement ends at; under the others it ends at the best one, which no pivot can beat.
    """
    places = first_places(scores.evaluator)
    best = Problem(scores, choice, FAR, places, obstacles=False).solved(start)
    moves = scores.space.as_made(best.moves)[None]
    return float(score(scores.peak(choice[None], moves), moves)[0]) if best.keeps_limits else np.inf


def _checked(scores: CustomScores, choice: Choice, moves: Array) -> tuple[Pivots, list[Margin]]:
    choices, row = choice[None], moves[None]
    limits = scores.margins(choices, row)
    return Pivots(choices, row, scores.peak(choices, row), exceeded(limits)), limits


def _with_broken(places: Places, limits: list[Margin]) -> Places:
    """Add the places at which limits are broken between those that are looked at first."""
    broken = [one for one in limits if one.kind in ("tilt", "gap") and one.margin[0] < 0.0]
    rack, travel = (
        np.concatenate([known, [getattr(one, name)[0] for one in broken]])
        for known, name in zip(places, ("rack_travel", "travel"), strict=True)
    )
    return rack, travel
