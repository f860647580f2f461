"""Newton steps on poses, in batches that keep to the assembly they started from.

A jump of Newton steps counts only if its second step is at most a quarter of its first: what two
steps can tell of Kantorovich's condition, under which the answer is the one that belongs to the
start (P. Deuflhard, Newton Methods for Nonlinear Problems, 2004, chapter 2; from memory).  A jump
that doesn't count is taken back and a shorter one tried, so a long way becomes a walk, and one that
needs ever shorter jumps has met the end of the linkage's reach.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from geometry.linkages.closure import Closure
from geometry.linkages.conditions import Pose
from geometry.vectors import Array

FINEST = 1e-11  # rounding lets a step leave less than this open, but not much less [mm]
LAST_STEP = 5e-5  # so small a step leaves open its square over the length of a link [mm]
NEWTON_STEPS = 10
CONTRACTION = 0.25  # second step of a jump that counts over its first, at most
FIRST_JUMP = 0.5  # who walks has mostly tried the whole way at once already
SHORTEST_JUMP = 1e-5  # share of the whole way
LONGEST_LED = 16.0  # jump of a linkage that is led [mm]
SHORTEST_LED = 0.02  # [mm]
LONGER, SHORTER = 2.0, 0.3  # jump after two in a row that counted, and after one that did not
JUMPS = 400

Jumped = tuple[Pose, NDArray[np.bool_]]
Stepped = tuple[Pose, NDArray[np.bool_], Array]


def walked_pose(closure: Closure, start: Pose, shortest: float = SHORTEST_JUMP) -> Jumped:
    """Walk poses from where they are to where everything closes.

    What the start leaves open is closed little by little, so the way between is one that the
    linkage could be led through.

    Parameters
    ----------
    closure : Closure
        P of them.  With fewer conditions than unknowns every step is the shortest that closes them.
    start : Pose
        P poses.
    shortest : float
        Share of the way below which a jump is too short to go on.

    Returns
    -------
    Pose, (P,) bool array
        The poses, and whether they close; one that doesn't is left where its walk ended.
    """
    open_at_start = closure.rows(start)[0]

    def jump(rows: NDArray[np.intp], left: Array, pose: Pose) -> Jumped:
        return jumped_pose(closure.taken(rows), pose, left[:, None] * open_at_start[rows])

    return _walked(jump, start, FIRST_JUMP, (shortest, 1.0))


def joined_pose(closure: Closure, start: Pose) -> Jumped:
    """Walk poses like `walked_pose`, but as far as the determinant of the Jacobian keeps its sign.

    So a linkage is put together anew without passing a dead center: at another height, with other
    lengths.

    Parameters
    ----------
    closure : Closure
        P of them, with as many conditions as unknowns.
    start : Pose
        P poses.

    Returns
    -------
    Pose, (P,) bool array
        The poses, and whether they close; one that doesn't is left where its way ended.
    """
    open_at_start, rates = closure.rows(start)

    def jump(rows: NDArray[np.intp], left: Array, pose: Pose) -> Stepped:
        return _jumped(closure.taken(rows), pose, left[:, None] * open_at_start[rows])

    return _led(jump, start, rates, np.abs(open_at_start).max(axis=-1))


def led_pose(first: Closure, last: Closure, start: Pose, way: Array) -> Jumped:
    """Lead poses from where they close one closure to where they close another.

    All lengths and places change evenly from the one to the other, so the way is the linkage's own,
    and the determinant of its Jacobian keeps its sign: where that would change, the way has ended.

    Parameters
    ----------
    first, last : Closure
        P of them, of the same linkages.
    start : Pose
        P poses that close the first.
    way : (P,) float array
        How far it is from the one to the other; no jump is longer than `LONGEST_LED`. [mm]

    Returns
    -------
    Pose, (P,) bool array
        The poses, and whether they close the last; one that doesn't is left where its way ended.
    """

    def jump(rows: NDArray[np.intp], left: Array, pose: Pose) -> Stepped:
        return _jumped(last.taken(rows).between(first.taken(rows), left), pose)

    return _led(jump, start, first.rows(start)[1], way)


def _led(
    jump: Callable[[NDArray[np.intp], Array, Pose], Stepped],
    start: Pose,
    rates: Array,
    way: Array,
) -> Jumped:
    """Jump all of a way (P,) [mm] while the determinant keeps the sign of the Jacobian `rates`."""
    sense, way = _sense(rates), np.maximum(way, LONGEST_LED)

    def kept(rows: NDArray[np.intp], left: Array, pose: Pose) -> Jumped:
        there, sound, now = jump(rows, left, pose)
        return there, sound & (_sense(now) == sense[rows])

    return _walked(kept, start, LONGEST_LED / way, (SHORTEST_LED / way, LONGEST_LED / way))


def _walked(
    jump: Callable[[NDArray[np.intp], Array, Pose], Jumped],
    start: Pose,
    first: Array | float,
    limits: tuple[Array | float, Array | float],
) -> Jumped:
    """Jump all the way, by so much of it at first, and by less wherever that is too far.

    `limits` are the shares of the way that the shortest and the longest jump may be.
    """
    walking = np.arange(len(start.center))
    pose, left = start.taken(walking), np.ones(walking.size)
    steady = np.ones(walking.size, dtype=bool)
    length, shortest, longest = (np.zeros(walking.size) + share for share in (first, *limits))
    for _ in range(JUMPS):
        if not walking.size:
            break
        goal = np.maximum(left[walking] - length[walking], 0.0)
        there, sound = jump(walking, goal, pose.taken(walking))
        arrived = walking[sound]
        pose.put(arrived, there.taken(sound))
        left[arrived] = goal[sound]
        factor = np.where(sound, np.where(steady[walking], LONGER, 1.0), SHORTER)
        length[walking] = np.minimum(longest[walking], length[walking] * factor)
        steady[walking] = sound
        walking = walking[(left[walking] > 0.0) & (length[walking] >= shortest[walking])]
    return pose, left == 0.0


def jumped_pose(closure: Closure, start: Pose, allowed: Array | float = 0.0) -> Jumped:
    """Poses by Newton steps alone, which leave just `allowed` (P, C) open; and which count."""
    return _jumped(closure, start, allowed)[:2]


def _jumped(closure: Closure, start: Pose, allowed: Array | float = 0.0) -> Stepped:
    """See `jumped_pose`; and the Jacobian where the last step began."""
    pose, count = start, len(start.center)
    sound, done = np.ones(count, dtype=bool), np.zeros(count, dtype=bool)
    for steps in range(NEWTON_STEPS):
        residual, jacobian = closure.rows(pose)
        miss = allowed - residual
        done |= np.abs(miss).max(axis=-1) <= FINEST
        step = np.where(done[:, None], 0.0, _step(jacobian, miss))
        pose = pose.moved(step)
        length = np.sqrt((step * step).sum(axis=-1))
        if steps == 0:
            first = length
        elif steps == 1:
            sound = length <= CONTRACTION * first
        done |= length <= LAST_STEP
        if (done | ~sound).all():
            break
    return pose, sound & done, jacobian


def _sense(jacobian: Array) -> Array:
    """Sign of a Jacobian's determinant, (P, N, N) to (P,); NaN where there is no pose."""
    with np.errstate(invalid="ignore"):
        return np.asarray(np.linalg.slogdet(jacobian).sign)


def _step(jacobian: Array, miss: Array) -> Array:
    """Step that closes `miss` (P, C) to first order; the shortest of them if there are many."""
    if miss.shape[-1] == jacobian.shape[-1]:
        return solution(jacobian, miss[..., None])[..., 0]
    back = np.swapaxes(jacobian, -1, -2)
    step: Array = (back @ solution(jacobian @ back, miss[..., None]))[..., 0]
    return step


def solution(matrix: Array, right: Array) -> Array:
    """Solve (..., N, N) for (..., N, M) or (N, M); NaN for a matrix without an inverse."""
    try:
        return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    except np.linalg.LinAlgError:  # one of them is enough; LAPACK doesn't say which
        with np.errstate(invalid="ignore"):
            singular = ~(np.abs(np.linalg.det(matrix)) > 0.0)[..., None, None]
        matrix = np.where(singular, np.eye(matrix.shape[-1]), matrix)
        right = np.where(singular, np.nan, right)
        return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
