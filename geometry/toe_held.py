"""The toe-held method: one family of poses a height, shared by every pivot pair.

Hold the wheel at a wanted toe and drop the tie rod.  The pose of the upright at each height then
depends on no candidate, so it is solved once.  A perfect pivot pair needs the same rod length at
every height; how much the length it needs differs from the length it has is its toe error.

The squared distance between an outer pivot `o`, fixed in the upright (rotation R, translation p),
and an inner pivot `i` is a product of what the pose gives and what the pair gives,

    |R o + p - i|^2 = |p|^2 + 2 o . (R^T p) - 2 i . p - 2 i . (R o) + |o|^2 + |i|^2

(the last two terms never change), so a whole grid of pairs and heights is one matrix product.
Solved at a few toe angles around the held one and interpolated between them, the same product gives
the exact toe of every pair.
"""

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import chebyshev

from geometry.linkages import Linkage
from geometry.motion import toe_held_motion
from geometry.vectors import Array, dot, norm, turned

NODES = 9  # toe angles at which the poses of a height are solved; odd, so the held toe is one
HALF_RANGE = float(np.radians(5.0))  # how far they spread to both sides of the held toe [rad]
NEWTON_STEPS = 6
NEWTON_ATOL = 1e-14  # a last step smaller than this share of HALF_RANGE is the end
SETTLED = 1e-10  # a last step larger than this share of HALF_RANGE found nothing
BLOCK = 192  # pairs at a time, so that the working arrays stay in cache


@dataclass(frozen=True)
class ToeHeldPoses:
    """What the toe-held poses of a linkage say about any pivot pair.

    `travel` (H,) [mm] and `toe` (H,) [rad] are the heights and the toe held at each; row `home` is
    ride height, where the rod's length is set.  `rotation` (H, 3, 3) and `translation` (H, 3) are
    the poses at the held toe.  `family` (K, 16, H) holds, for each power k of (toe error /
    `HALF_RANGE`), the pose's share of the squared distance, in the order of `pair_terms`.
    """

    travel: Array
    toe: Array
    home: int
    rotation: Array
    translation: Array
    family: Array


def toe_held_poses(
    linkage: Linkage, travel: Array, spin: Array, toe: Array, home: int
) -> ToeHeldPoses:
    """Solve the family of poses at each height.

    Parameters
    ----------
    linkage : Linkage
        Points as measured, without leading axes.
    travel, toe : (H,) float array
        Heights of the wheel center above the measured pose [mm] and the toe wanted there [rad].
    spin : (3,) float array
        Unit spin axis at the measured pose.
    home : int
        Row of ride height.

    Returns
    -------
    ToeHeldPoses
        NaN in the rows of heights that the arms cannot reach.
    """
    return _told(*_held(linkage, travel, spin, toe), travel, toe, home)


def toe_held_choices(
    linkages: Linkage, travel: Array, spin: Array, toe: Array, home: int
) -> list[ToeHeldPoses]:
    """The same of C linkages at once, with points (C, 1, 1, 3) where they differ.

    `travel` is (C, H).
    """
    held = _held(linkages, travel, spin, toe)
    return [_told(*of_one, toe, home) for of_one in zip(*held, travel, strict=True)]


def _held(linkage: Linkage, travel: Array, spin: Array, toe: Array) -> tuple[Array, Array]:
    """Rotation (..., H, N + 1, 3, 3) and translation at the nodes, and last at the held toe."""
    toes = toe[:, None] + HALF_RANGE * np.append(chebyshev.chebpts1(NODES), 0.0)
    heights = np.broadcast_to(travel[..., None], (*travel.shape, toes.shape[1]))
    motion = toe_held_motion(linkage, heights, spin, toes)
    return motion.rotation, motion.translation


def _told(
    rotation: Array, translation: Array, travel: Array, toe: Array, home: int
) -> ToeHeldPoses:
    """What the poses of `_held` say, of one linkage."""
    at_toe = rotation[:, NODES], translation[:, NODES]
    rotation, translation = rotation[:, :NODES], translation[:, :NODES]
    back = turned(np.swapaxes(rotation, -1, -2), translation)
    shares = np.concatenate(
        [
            dot(translation, translation)[..., None],
            2.0 * back,
            -2.0 * translation,
            -2.0 * rotation.reshape(*translation.shape[:-1], 9),
        ],
        axis=-1,
    )
    to_powers = np.linalg.inv(np.vander(chebyshev.chebpts1(NODES), increasing=True))
    family = np.einsum("kn,hnf->kfh", to_powers, shares)
    return ToeHeldPoses(travel, toe, home, *at_toe, family)


def rod_length_needed(poses: ToeHeldPoses, outer: Array, inner: Array) -> Array:
    """Rod length that keeps the held toe at each height, (..., 3) pairs to (..., H). [mm]"""
    carried = turned(poses.rotation, outer[..., None, :]) + poses.translation
    return norm(carried - inner[..., None, :])


def toe_error_estimate(poses: ToeHeldPoses, outer: Array, inner: Array) -> Array:
    """Toe error of pivot pairs to first order: rod-length error over d(length)/d(toe).

    Parameters
    ----------
    poses : ToeHeldPoses
        The family of heights.
    outer, inner : (M, 3) float array
        Pivots at the measured pose; the rod is as long as the pair is apart at ride height with
        the held toe. [mm]

    Returns
    -------
    (M, H) float array
        Toe minus held toe, positive toe-in. [rad]
    """
    terms = pair_terms(outer, inner)
    error = np.empty((len(terms), poses.travel.size))
    for rows in _blocks(len(terms)):
        square = terms[rows] @ poses.family[0]
        slope = terms[rows] @ poses.family[1]
        np.divide(square[:, poses.home, None] - square, slope, out=error[rows])
    error *= HALF_RANGE
    return error


def estimate_error_rate(poses: ToeHeldPoses, outer: Array, inner: Array) -> float:
    """Second-order share that `toe_error_estimate` leaves out, per radian of estimate. [1/rad]

    With a squared distance ``S0 + S1 x + S2 x^2 + ...`` the toe error is ``e - (S2/S1) e^2 + ...``
    for an estimate ``e``; this is the largest ``|S2/S1|`` over the given pairs and all heights, NaN
    where every height is out of reach.
    """
    terms = pair_terms(outer, inner)
    ratio = (terms @ poses.family[2]) / (terms @ poses.family[1])
    return float(np.fmax.reduce(np.abs(ratio), axis=None)) / HALF_RANGE


def toe_error(poses: ToeHeldPoses, outer: Array, inner: Array) -> Array:
    """Toe error of pivot pairs, exact: the toe at which the pair is one rod length apart.

    Takes and returns what `toe_error_estimate` does; NaN where the error would exceed
    `HALF_RANGE` or the height is out of reach.
    """
    terms = pair_terms(outer, inner)
    heights = poses.travel.size
    family = np.ascontiguousarray(np.moveaxis(poses.family, 1, 0)).reshape(16, -1)
    error = np.empty((len(terms), heights))
    for rows in _blocks(len(terms)):
        powers = np.ascontiguousarray(
            np.moveaxis((terms[rows] @ family).reshape(-1, NODES, heights), 1, 0)
        )
        powers[0] -= powers[0][:, poses.home, None].copy()
        error[rows] = _nearest_zero(powers)
    error *= HALF_RANGE
    return error


def pair_terms(outer: Array, inner: Array) -> Array:
    """What a pivot pair brings to the squared distance, (M, 3) twice to (M, 16)."""
    outer, inner = np.broadcast_arrays(np.atleast_2d(outer), np.atleast_2d(inner))
    both = (inner[:, :, None] * outer[:, None, :]).reshape(-1, 9)
    return np.concatenate([np.ones((len(outer), 1)), outer, inner, both], axis=1)


def _nearest_zero(powers: Array) -> Array:
    """Zero next to 0 of polynomials in x, (K, ...) to (...); NaN where none lies in [-1, 1]."""
    x = -powers[0] / powers[1]
    for _ in range(NEWTON_STEPS):
        value, slope = powers[-1] * x, powers[-1].copy()
        value += powers[-2]
        for power in powers[-3::-1]:
            slope *= x
            slope += value
            value *= x
            value += power
        value /= slope
        x -= value
        if not (np.abs(value) > NEWTON_ATOL).any():
            break
    found = (np.abs(x) <= 1.0) & (np.abs(value) <= SETTLED)
    within: Array = np.where(found, x, np.nan)
    return within


def _blocks(rows: int) -> list[slice]:
    return [slice(start, start + BLOCK) for start in range(0, rows, BLOCK)]
