"""How exactly a custom pivot must be made: the deviations that keep toe within the tolerance.

The toe change of each height is very nearly a straight line in each coordinate, so the peak grows
from its least point outward, and the first deviation that is too much bounds all that are not.
"""

from itertools import product

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings
from optimizer.limits.margins import margins
from optimizer.models.custom_pivot import MayBreak

WIDEST = 25.0  # mm; a coordinate that matters less than this is not asked for more
STEPS = 25  # per narrowing
NARROWINGS = 5  # to 25 mm / 25^5, far below a micrometer


class Tolerances(Struct, frozen=True):
    """Deviations to either side, at most `WIDEST`, that keep the peak within the tolerance.

    `alone` (D,) holds for one coordinate while the others are exact, `together` for all of them
    off by so much at once, in every combination; 0 where the pivot itself is beyond the tolerance.
    [mm]
    """

    alone: Array
    together: float


def pivot_tolerances(evaluator: Evaluator, pivot: Settings, moves: Rows) -> Tolerances:
    """Find the tolerances of a pivot's coordinates, toe reset after every deviation.

    Parameters
    ----------
    evaluator : Evaluator
        The case; its aim says what is near enough.
    pivot : Settings
        A batch of one.
    moves : (D,) int array
        Coordinates to judge: 0, 1, 2 are x, y, z of the outer pivot, 3, 4, 5 of the inner one.
    """
    axes = np.eye(6)[moves]
    alone = np.array([_largest(evaluator, pivot, np.stack([axis, -axis]), WIDEST) for axis in axes])
    corners = _signs(len(moves)) @ axes
    return Tolerances(alone, _largest(evaluator, pivot, corners, float(alone.min())))


def limits_broken_within(
    evaluator: Evaluator, pivot: Settings, moves: Rows, tolerances: Tolerances
) -> list[MayBreak]:
    """Name the limits that a pivot off by its tolerances, alone or together, may not keep.

    Parameters
    ----------
    evaluator : Evaluator
        The case, with the hardware that the pivot carries.
    pivot, moves : Settings, (D,) int array
        As for `pivot_tolerances`.
    tolerances : Tolerances
        What it found; where it left nothing, there is nothing to break.
    """
    if not tolerances.alone.any():
        return []
    axes = np.eye(6)[moves]
    alone = tolerances.alone[:, None] * axes
    corners = tolerances.together * _signs(len(moves)) @ axes
    off = _deviating(pivot, np.concatenate([alone, -alone, corners]))
    return [
        MayBreak(kind=margin.kind, name=margin.name)
        for margin in margins(evaluator, off, follow="named")
        if margin.margin.min() < 0.0
    ]


def _signs(count: int) -> Array:
    """Every combination of one way and the other, (2^count, count)."""
    return np.array(list(product([-1.0, 1.0], repeat=count)))


def _largest(evaluator: Evaluator, pivot: Settings, directions: Array, most: float) -> float:
    """Largest multiple, up to `most`, of deviations (K, 6) at which all stay near enough."""
    wanted = evaluator.tolerance

    def near_enough(scales: Array) -> NDArray[np.bool_]:
        deviations = (scales[:, None, None] * directions).reshape(-1, 6)
        peak = np.abs(evaluator.toe_change(_deviating(pivot, deviations))).max(axis=1)
        near: NDArray[np.bool_] = np.all(peak.reshape(len(scales), -1) <= wanted, axis=1)
        return near

    low, high = 0.0, most
    if high == 0.0 or not near_enough(np.zeros(1))[0]:
        return 0.0
    for _ in range(NARROWINGS):
        scales = np.linspace(low, high, STEPS + 1)
        good = near_enough(scales)
        if good.all():
            return high
        first_bad = int(np.argmin(good))
        low, high = scales[first_bad - 1], scales[first_bad]
    return float(low)


def _deviating(pivot: Settings, deviations: Array) -> Settings:
    """Make a pivot again and again, each time off by one of the deviations (N, 6). [mm]."""
    many = pivot.rows(np.zeros(len(deviations), dtype=np.intp))
    outer, inner = (0.0 if move is None else move for move in (many.outer_move, many.inner_move))
    return Settings(
        many.outer_drop,
        many.rack_raise,
        many.linkage,
        outer + deviations[:, :3],
        inner + deviations[:, 3:],
        many.forward,
    )
