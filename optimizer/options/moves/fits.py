"""Where a search that knows limits starts: least-squares pivots, refined as if there were none.

The toe-held motion makes the ideal pivot a small least-squares problem, for each alternative of
hardware, rack raise and linkage.  The stack takes part in it as one more direction, which costs
nothing; then the stacks that can be built on both sides of that height are fitted again.
"""

from collections.abc import Iterator
from itertools import product

import numpy as np

from geometry.pivot_fit import fitted_inner, fitted_outer
from geometry.vectors import Array
from optimizer.options.moves.polish import refined_without_limits
from optimizer.options.moves.scores import FARTHER, CustomScores
from optimizer.options.moves.space import HARDWARE, LINKAGE, RACK, Choice

ROUNDS = 3  # of fitting the outer and the inner pivot in turn, where both may move


def unlimited_pivots(scores: CustomScores) -> tuple[Choice, Array]:
    """Least-squares pivots of a wheel, refined within the box alone, (C, 4) and (C, 6). [mm].

    Toe is nearly linear in the moves of one pivot, so with its stack, rack raise and linkage none
    can score better than these, whatever the limits.
    """
    known: dict[tuple[object, ...], Array] = {}  # kits with stacks of one height share a pivot
    choices, moves = list(_choices(scores)), []
    for choice in choices:
        corner = scores.evaluators[choice[HARDWARE]].corner
        key = (id(corner), scores.space.stack(choice).height, choice[RACK], choice[LINKAGE])
        if key not in known:
            known[key] = refined_without_limits(scores, choice, fitted_moves(scores, choice)[0])
        moves.append(known[key])
    return np.array(choices), np.array(moves)


def _choices(scores: CustomScores) -> Iterator[Choice]:
    """Every hardware, rack raise and linkage, with the stacks beside the one that is asked for."""
    hardware, _, raises, linkages = scores.space.sizes
    for one, rack, linkage in product(range(hardware), range(raises), range(linkages)):
        for step in _wanted_steps(scores, np.array([one, 0, rack, linkage])):
            yield np.array([one, step, rack, linkage])


def _wanted_steps(scores: CustomScores, choice: Choice) -> list[int]:
    """Steps of a kit's stacks on both sides of the height that the fit asks for."""
    hardware = int(choice[HARDWARE])
    lowest, highest = (scores.space.stacks[hardware][end].height for end in (0, -1))
    if lowest == highest:
        return [0]
    _, rise = fitted_moves(scores, choice, highest - lowest)
    return scores.space.steps_about(hardware, lowest + rise)


def fitted_moves(
    scores: CustomScores, choice: Choice, most_rise: float = 0.0
) -> tuple[Array, float]:
    """Fit the pivots to a choice, and how much higher its stack is to be; (6,) and up. [mm]."""
    space, evaluator = scores.space, scores.evaluators[choice[HARDWARE]]
    corner, poses = evaluator.corner, evaluator.poses(int(choice[LINKAGE]))
    settings = space.settings(choice[None], np.zeros((1, 6)))
    seats = np.concatenate(corner.pivots(settings), axis=1)[0]
    # Six coordinates and the rise of the stack, which alone is not held to where it is.
    ways = np.vstack([np.eye(3), np.eye(3), corner.stud_axis])
    room = np.vstack([np.stack([space.low, space.high], axis=-1), [0.0, most_rise]])
    pull = np.append(np.full(6, FARTHER), 0.0)
    moves = np.append(np.clip(np.zeros(6), space.low, space.high), 0.0)
    outer, inner = space.free[space.free < 3], space.free[space.free >= 3]
    if most_rise > 0.0:
        outer = np.append(outer, 6)
    parts = ((outer, fitted_outer), (inner, fitted_inner))
    for _ in range(ROUNDS if all(free.size for free, _ in parts) else 1):
        for free, fitted in parts:
            if free.size:
                moves[free] = 0.0
                pair = seats[:3] + moves[[0, 1, 2, 6]] @ ways[[0, 1, 2, 6]], seats[3:] + moves[3:6]
                # Where the stack is settled, the refinement that follows minds the room.
                kept = room[free] if most_rise > 0.0 else None
                fit = fitted(poses, *pair, ways[free], pull=pull[free], room=kept)
                moves[free] = np.clip(fit.moves, *room[free].T)
    return moves[:6], float(moves[6])
