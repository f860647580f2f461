"""The toe-held method for many cars at once: settings x cars x heights in one matrix product.

Points that a tape has measured are many cars, one for every error that it may have made.  With toe
held, the upright of each stands as no setting changes it, and the rod's span there from the inner
pivot to the outer one is `v`.  A setting shifts the outer pivot by `a`, in the upright, and the
inner one by `b`, in every car alike; with R the upright's rotation the squared length needed is

    |v + R a - b|^2 = |v|^2 + 2 a . (R^T v) - 2 b . v - 2 b . (R a) + |a|^2 + |b|^2

where the last two terms are the same at every height.  What the car gives and what the setting
gives are multiplied and added, so all settings in all cars are one product.  Three toe angles a
height make the squared length quadratic in toe, and the toe error its root.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.linkages import Linkage
from geometry.motion import toe_held_motion
from geometry.toe_held import pair_terms
from geometry.vectors import Array, dot, turned

HALF_RANGE = float(np.radians(2.0))  # toe angles solved to both sides of the held one [rad]
TOES = HALF_RANGE * np.array([-1.0, 0.0, 1.0])
NODES = 5  # heights that are solved; the others lie on the polynomial through them
NODES_ON_LEAVES = 9  # toward the end of its shackle's swing a spring moves like no low polynomial
AT_A_TIME = 60_000  # toe errors worked on together, so that they stay in cache


@dataclass(frozen=True)
class ToeHeldCars:
    """What the toe-held poses of N cars say about any setting.

    `family` (16, N, 3, K) holds, for each power of (toe error / `HALF_RANGE`), the car's share of
    the squared length that a rod needs at K heights, in the order of `pair_terms`; NaN in cars that
    cannot be led over all of them.  `onto` (1 + H, K) makes of it what is needed at ride height,
    where the rod's length is set, and at H heights.
    """

    family: Array
    onto: Array

    @property
    def sound(self) -> NDArray[np.bool_]:
        """Cars that can be led over all heights, (N,)."""
        finite: NDArray[np.bool_] = np.all(np.isfinite(self.family[0, :, 0]), axis=-1)
        return finite

    def first(self, count: int) -> "ToeHeldCars":
        """The first of these cars alone."""
        return ToeHeldCars(self.family[:, :count], self.onto)


def height_nodes(low: float, high: float, count: int = NODES) -> Array:
    """Heights to solve between two ends, which are among them, (K,). [mm]"""
    if low == high:
        return np.array([low])
    half, places = 0.5 * (high - low), np.arange(count) * np.pi / (count - 1)
    nodes: Array = low + half * (1.0 - np.cos(places))
    return nodes


def toe_held_cars(
    linkage: Linkage, heights: Array, spin: Array, toe: Array, rod: tuple[Array, Array], to: Array
) -> ToeHeldCars:
    """Solve the poses of many cars.

    Parameters
    ----------
    linkage : Linkage
        Points as measured, (N, 1, 3).
    heights, toe : (K,) or (N, K) float array
        Rise of the wheel center from the measured pose where poses are solved [mm], and the toe
        held there. [rad]
    spin : (3,) float array
        Unit spin axis at the measured pose.
    rod : (N, 1, 3) float array twice
        Outer and inner pivot that no setting has shifted, at the measured pose. [mm]
    to : (1 + H, K) float array
        Makes of what is known at the K heights what is wanted at H others, see `onto_heights`; its
        first row is ride height, where the rod's length is set.

    Returns
    -------
    ToeHeldCars
        Of the H heights.
    """
    count = np.shape(heights)[-1]
    toes = (toe[..., None, :] + TOES[:, None]).reshape(*toe.shape[:-1], -1)
    motion = toe_held_motion(linkage, np.tile(heights, 3), spin, toes)
    outer, inner = rod
    span, rotation = motion.moved(outer) - inner, motion.rotation
    cars = len(span)
    shares = np.concatenate(
        [
            dot(span, span)[..., None],
            2.0 * turned(np.swapaxes(rotation, -1, -2), span),
            -2.0 * span,
            -2.0 * rotation.reshape(*span.shape[:-1], 9),
        ],
        axis=-1,
    ).reshape(cars, 3, count, 16)
    low, held, high = np.moveaxis(shares, (1, -1), (0, 1))
    powers = [held, 0.5 * (high - low), 0.5 * (high + low) - held]
    return ToeHeldCars(np.stack(powers, axis=2), to)


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
    of_setting = len(terms) * onto.shape[1]
    step = max(1, AT_A_TIME // of_setting)
    for start in range(0, family.shape[1], step):
        some = slice(start, min(start + step, family.shape[1]))
        powers = np.moveaxis(np.tensordot(terms, family[:, some], 1), 2, 0)
        short = powers[0] @ (onto - home[:, None])  # beyond the length that is set
        slope, bend = powers[1] @ onto, powers[2] @ onto
        with np.errstate(invalid="ignore"):  # NaN where there is none
            root = np.sqrt(slope * slope - 4.0 * bend * short)
        yield some, (-2.0 * HALF_RANGE) * short / (slope + np.copysign(root, slope))


def peak_toe_errors(cars: ToeHeldCars, outer_shift: Array, inner_shift: Array) -> Array:
    """Largest toe error over the heights, takes what `toe_errors` does, (M, N). [rad]"""
    peaks = np.empty((len(np.atleast_2d(outer_shift)), cars.family.shape[1]))
    for some, errors in toe_errors(cars, outer_shift, inner_shift):
        peaks[:, some] = np.abs(errors, out=errors).max(axis=2)
    return peaks
