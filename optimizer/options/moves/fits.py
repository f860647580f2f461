"""Closed-form fits of a custom pivot: where to start a search that knows limits.

The toe-held motion makes the ideal pivot a small least-squares problem, for each kit, rack raise
and ball-joint drop.  The stack takes part in it as one more direction, which costs nothing; then
the stacks that can be built on both sides of that height are fitted again.
"""

from itertools import product

import numpy as np

from geometry.pivot_fit import fitted_inner, fitted_outer
from geometry.vectors import Array
from optimizer.options.moves.scores import CustomScores
from optimizer.options.moves.space import Choice

PULL = float(np.radians(1e-3))  # of the fit to the standard place, per millimeter and height
ROUNDS = 3  # of fitting the outer and the inner pivot in turn, where both may move


def fitted_moves(scores: CustomScores) -> tuple[Choice, Array]:
    """Least-squares pivots of the toe-held motion, within the box, (C, 4) and (C, 6). [mm]."""
    kits, _, raises, drops = scores.space.sizes
    choices = [
        (kit, step, rack, drop)
        for kit, rack, drop in product(range(kits), range(raises), range(drops))
        for step in _wanted_steps(scores, kit, rack, drop)
    ]
    known: dict[tuple[float, ...], Array] = {}  # kits with stacks of one height share a fit
    moves = []
    for choice in np.array(choices):
        key = (scores.space.stack(choice).height, *choice[2:])
        if key not in known:
            known[key] = _fitted(scores, choice)[0]
        moves.append(known[key])
    return np.array(choices), np.array(moves)


def _wanted_steps(scores: CustomScores, kit: int, rack: int, drop: int) -> list[int]:
    """Steps of a kit's stacks on both sides of the height that the fit asks for."""
    lowest, highest = (scores.space.stacks[kit][end].height for end in (0, -1))
    if lowest == highest:
        return [0]
    _, rise = _fitted(scores, np.array([kit, 0, rack, drop]), highest - lowest)
    return scores.space.steps_about(kit, lowest + rise)


def _fitted(scores: CustomScores, choice: Choice, most_rise: float = 0.0) -> tuple[Array, float]:
    """Fit the pivots to a choice, and how much higher its stack is to be; (6,) and up. [mm]."""
    space, corner = scores.space, scores.evaluator.corner
    settings = space.settings(choice[None], np.zeros((1, 6)))
    poses = scores.evaluator.poses(float(settings.ball_joint_drop[0]))
    seats = np.concatenate(corner.pivots(settings), axis=1)[0]
    # Six coordinates and the rise of the stack, which alone is not held to where it is.
    ways = np.vstack([np.eye(3), np.eye(3), corner.stud_axis])
    room = np.vstack([np.stack([space.low, space.high], axis=-1), [0.0, most_rise]])
    pull = np.append(np.full(6, PULL), 0.0)
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
                fit = fitted(poses, *pair, ways[free], pull=pull[free], room=room[free])
                moves[free] = fit.moves
    return moves[:6], float(moves[6])
