"""The pivot that the toe-held motion asks for, by least squares.

Squaring the rod length and subtracting its value at ride height is linear in the outer pivot when
the inner one is given, and the other way round, so the pivot that comes nearest to no toe change is
a small linear problem: no search, no starting guess.
"""

from dataclasses import dataclass

import numpy as np

from geometry.toe_held import HALF_RANGE, ToeHeldPoses, pair_terms
from geometry.vectors import Array, dot, turned


@dataclass(frozen=True)
class PivotFit:
    """A pivot `point` (3,) [mm] and the `moves` (D,) [mm] along the directions that reach it."""

    point: Array
    moves: Array


def fitted_outer(
    poses: ToeHeldPoses,
    seat: Array,
    inner: Array,
    directions: Array,
    *,
    pull: float | Array = 0.0,
    room: Array | None = None,
) -> PivotFit:
    """Outer pivot that needs the most nearly constant rod length over the heights of `poses`.

    Parameters
    ----------
    poses : ToeHeldPoses
        The family of heights.
    seat, inner : (3,) float array
        Standard outer pivot, and the inner pivot, both at the measured pose. [mm]
    directions : (D, 3) float array
        Unit vectors along which the pivot may leave the seat: the stud axis alone for a straight
        stack, three axes for a custom pivot.
    pull : float or (D,) float array
        How strongly the pivot is held to its seat, along each direction: the toe error that weighs
        as much as a move of one millimeter.  Needed where the heights alone do not settle every
        direction. [rad/mm]
    room : (D, 2) float array, optional
        Least and greatest move along each direction, unlike each other. [mm]

    Returns
    -------
    PivotFit
        Heights out of reach take no part.
    """
    back = turned(np.swapaxes(poses.rotation, -1, -2), poses.translation - inner)
    apart = poses.translation - inner
    square = (2.0 * back, dot(apart, apart))
    moves = _moves(*_toe_rows(poses, (seat, inner), seat, square, directions), pull, room)
    return PivotFit(seat + moves @ directions, moves)


def fitted_inner(
    poses: ToeHeldPoses,
    outer: Array,
    seat: Array,
    directions: Array,
    *,
    pull: float | Array = 0.0,
    room: Array | None = None,
) -> PivotFit:
    """Inner pivot that needs the most nearly constant rod length; see `fitted_outer`."""
    carried = turned(poses.rotation, outer) + poses.translation
    square = (-2.0 * carried, dot(carried, carried))
    moves = _moves(*_toe_rows(poses, (outer, seat), seat, square, directions), pull, room)
    return PivotFit(seat + moves @ directions, moves)


def _toe_rows(
    poses: ToeHeldPoses,
    pair: tuple[Array, Array],
    seat: Array,
    square: tuple[Array, Array],
    directions: Array,
) -> tuple[Array, Array]:
    """Toe error at each height that is reached: per millimeter of each move, and at the seat.

    From the squared length ``linear . pivot + constant``. [rad/mm], [rad]
    """
    linear, constant = square
    toe_rate = (pair_terms(*pair) @ poses.family[1])[0] / HALF_RANGE
    gain = (linear - linear[poses.home]) @ directions.T / toe_rate[:, None]
    left = (dot(linear, seat) + constant) / toe_rate
    left -= (dot(linear[poses.home], seat) + constant[poses.home]) / toe_rate
    reached = np.isfinite(left)
    return gain[reached], left[reached]


def _moves(gain: Array, left: Array, pull: float | Array, room: Array | None) -> Array:
    """Least-squares moves, held to the seat by `pull` and kept within `room`, (D,). [mm]"""
    count = gain.shape[1]
    rows = np.concatenate([gain, pull * np.eye(count)])
    wanted = np.concatenate([-left, np.zeros(count)])
    free: Array = np.linalg.lstsq(rows, wanted, rcond=None)[0]
    if room is None or ((free >= room[:, 0]) & (free <= room[:, 1])).all():
        return free
    from scipy.optimize import lsq_linear  # slow to import, and needed for a custom pivot only

    # Toe errors are thousandths of a radian: unscaled, the solver would take them for solved.
    scale = np.abs(gain).max()
    kept: Array = lsq_linear(rows / scale, wanted / scale, bounds=(room[:, 0], room[:, 1])).x
    return kept
