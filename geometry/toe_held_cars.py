"""The toe-held method for many cars at once: settings x cars x heights in one matrix product.

Points that a tape has measured are many cars, one for every error that it may have made.  With toe
held, the upright of each stands as no setting changes it, and the rod's span there from the inner
pivot to the outer one is `v`.  A setting shifts the outer pivot by `a`, in the upright, and the
inner one by `b`, in every car alike; with R the upright's rotation the squared length needed is

    |v + R a - b|^2 = |v|^2 + 2 a . (R^T v) - 2 b . v - 2 b . (R a) + |a|^2 + |b|^2

where the last two terms are the same at every height.  What the car gives and what the setting
gives are multiplied and added, so all settings in all cars are one product.  How that changes with
toe is known exactly in every car; how it bends with toe, in the car as measured, for all of them.
So the squared length is quadratic in toe, and the toe error its root.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.linkages import Linkage
from geometry.motion import toe_held_motion
from geometry.toe_held import pair_terms
from geometry.toe_rates import toe_held_upright
from geometry.vectors import Array, cross, dot, turned

HALF_RANGE = float(np.radians(2.0))  # of the toe angles over which the bend is taken [rad]
TOES = HALF_RANGE * np.array([[-1.0], [0.0], [1.0]])
NODES = 5  # heights that are solved; the others lie on the polynomial through them
NODES_ON_LEAVES = 9  # toward the end of its shackle's swing a spring moves like no low polynomial
AT_A_TIME = 60_000  # toe errors worked on together, so that they stay in cache


@dataclass(frozen=True)
class ToeHeldCars:
    """What the toe-held poses of N cars say about any setting.

    `family` (16, N, 2, K) holds the car's share of the squared length that a rod needs at K
    heights, and how it changes per toe error of `HALF_RANGE`, in the order of `pair_terms`; NaN in
    cars that cannot be led over all of them.  `bend` (16, K) goes with the square of the toe error,
    in all cars alike.  `onto` (1 + H, K) makes of it what is needed at ride height, where the rod's
    length is set, and at H heights.
    """

    family: Array
    bend: Array
    onto: Array

    @property
    def sound(self) -> NDArray[np.bool_]:
        """Cars that can be led over all heights, (N,)."""
        finite: NDArray[np.bool_] = np.all(np.isfinite(self.family[0, :, 0]), axis=-1)
        return finite

    def first(self, count: int) -> "ToeHeldCars":
        """The first of these cars alone."""
        return ToeHeldCars(self.family[:, :count], self.bend, self.onto)


def height_nodes(low: float, high: float, count: int = NODES) -> Array:
    """Heights to solve between two ends, which are among them, (K,). [mm]"""
    if low == high:
        return np.array([low])
    half, places = 0.5 * (high - low), np.arange(count) * np.pi / (count - 1)
    nodes: Array = low + half * (1.0 - np.cos(places))
    return nodes


@dataclass(frozen=True)
class HeldWheels:
    """Wheels whose toe is held at K heights.

    `linkage` has points (..., 3) as measured; the wheel center rises by `heights` (..., K) [mm]
    where `toe` (..., K) is held [rad], for `spin` (3,), the unit spin axis as measured.  The rod's
    pivots `outer` and `inner` (..., 3), as measured, are not shifted by any setting. [mm]
    """

    linkage: Linkage
    heights: Array
    toe: Array
    spin: Array
    outer: Array
    inner: Array


def toe_held_cars(cars: HeldWheels, measured: HeldWheels, onto: Array) -> ToeHeldCars:
    """Solve the poses of many cars.

    Parameters
    ----------
    cars : HeldWheels
        N of them, with points (N, 1, 3).
    measured : HeldWheels
        The one that they are drawn about, with points (3,) and K heights.
    onto : (1 + H, K) float array
        Makes of what is known at the K heights what is wanted at H others, see `onto_heights`; its
        first row is ride height, where the rod's length is set.

    Returns
    -------
    ToeHeldCars
        Of the H heights.
    """
    alike = toe_held_upright(measured.linkage, measured.heights, measured.spin, measured.toe)
    held = toe_held_upright(cars.linkage, cars.heights, cars.spin, cars.toe, alike.gone)
    rotation, turn = held.rotation, held.turn
    arm = turned(rotation, cars.outer - cars.linkage.wheel_center)
    span, rate = held.center + arm - cars.inner, held.move + cross(turn, arm)
    back = np.swapaxes(rotation, -1, -2)
    turning = np.swapaxes(cross(turn[..., None, :], back), -1, -2)
    per_toe = HALF_RANGE * _shares(
        2.0 * dot(span, rate), turned(back, rate + cross(span, turn)), rate, turning
    )
    family = np.stack(np.broadcast_arrays(_at(span, rotation), per_toe), axis=2)
    return ToeHeldCars(family, _bend(measured), onto)


def _bend(car: HeldWheels) -> Array:
    """Half the second difference of one car's shares over `TOES`, (16, K); 0 beyond its reach."""
    motion = toe_held_motion(car.linkage, car.heights, car.spin, car.toe + TOES)
    shares = _at(motion.moved(car.outer) - car.inner, motion.rotation)
    low, held, high = np.moveaxis(shares, 1, 0)
    bend: Array = np.nan_to_num(0.5 * (high + low) - held)
    return bend


def _at(span: Array, rotation: Array) -> Array:
    """Shares of the squared length at poses, (16, ...)."""
    return _shares(dot(span, span), turned(np.swapaxes(rotation, -1, -2), span), span, rotation)


def _shares(square: Array, back: Array, span: Array, rotation: Array) -> Array:
    """Factors of `pair_terms` from |v|^2, R^T v, v and R, or their rates: (16, ...)."""
    nine = rotation.reshape(*span.shape[:-1], 9)
    parts = [square[..., None], 2.0 * back, -2.0 * span, -2.0 * nine]
    return np.moveaxis(np.concatenate(parts, axis=-1), -1, 0)


def onto_heights(nodes: Array, travel: Array) -> Array:
    """Values at K nodes to those of the polynomial through them at travels (H,), (H, K)."""
    same = travel[:, None] == nodes
    if same.any(axis=1).all():
        return np.asarray(same, dtype=np.float64)
    middle, half = 0.5 * (nodes[0] + nodes[-1]), 0.5 * (nodes[-1] - nodes[0])
    at, known = (np.vander((x - middle) / half, nodes.size) for x in (travel, nodes))
    onto: Array = np.linalg.solve(known.T, at.T).T
    return onto


def toe_errors(
    cars: ToeHeldCars, outer_shift: Array, inner_shift: Array
) -> Iterator[tuple[slice, Array]]:
    """Toe error of every setting in every car, some cars at a time.

    Parameters
    ----------
    cars : ToeHeldCars
        N cars at H heights.
    outer_shift, inner_shift : (M, 3) float array
        What each setting moves the pivots by, at the measured pose. [mm]

    Yields
    ------
    slice, (M, n, H) float array
        Which cars, and their toe minus the held one, positive toe-in; NaN where the car cannot be
        led there, or no toe gives the rod its length. [rad]
    """
    terms = pair_terms(outer_shift, inner_shift)
    asked = np.flatnonzero(terms.any(axis=0))
    terms, family = np.ascontiguousarray(terms[:, asked]), cars.family[asked]
    home, onto = cars.onto[0], cars.onto[1:].T
    bend = (terms @ cars.bend[asked] @ onto)[:, None]
    of_setting = len(terms) * onto.shape[1]
    step = max(1, AT_A_TIME // of_setting)
    for start in range(0, family.shape[1], step):
        some = slice(start, min(start + step, family.shape[1]))
        powers = np.moveaxis(np.tensordot(terms, family[:, some], 1), 2, 0)
        short = powers[0] @ (onto - home[:, None])  # beyond the length that is set
        slope = powers[1] @ onto
        with np.errstate(invalid="ignore"):  # NaN where there is none
            root = np.sqrt(slope * slope - 4.0 * bend * short)
        yield some, (-2.0 * HALF_RANGE) * short / (slope + np.copysign(root, slope))


def peak_toe_errors(cars: ToeHeldCars, outer_shift: Array, inner_shift: Array) -> Array:
    """Largest toe error over the heights, takes what `toe_errors` does, (M, N). [rad]"""
    peaks = np.empty((len(np.atleast_2d(outer_shift)), cars.family.shape[1]))
    for some, errors in toe_errors(cars, outer_shift, inner_shift):
        peaks[:, some] = np.abs(errors, out=errors).max(axis=2)
    return peaks
