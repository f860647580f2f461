"""The curve that readings make: slope, curvature, scatter, play, and rows that stand apart."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array

DEGREE = 3  # a measured curve bears no more
APART = 5.0  # times the scatter, for a row to stand apart
LEAST_APART = float(np.radians(0.03))  # closer to the curve than this, no row stands apart
FEWEST_FOR_OUTLIERS = 7


@dataclass(frozen=True)
class MeasuredCurve:
    """A polynomial through a sweep.

    `coefficients` (D,) belong to travel, travel squared, …; `zero` is toe at ride height;
    `scatter` one standard deviation of the rows about it; `play` toe on the way up less toe on the
    way down, NaN where the sweep went one way only; `apart` (N,) marks rows left out.  [rad, mm]
    """

    travel: Array
    toe: Array
    coefficients: Array
    zero: float
    scatter: float
    play: float
    apart: NDArray[np.bool_]

    def at(self, travel: Array) -> Array:
        """Toe change from ride height at wheel travels, (T,) to (T,). [rad]."""
        powers = np.vander(travel, len(self.coefficients) + 1, increasing=True)[:, 1:]
        change: Array = powers @ self.coefficients
        return change


def measured_curve(travel: Array, toe: Array) -> MeasuredCurve:
    """Fit the curve, leaving out rows that stand apart.

    Parameters
    ----------
    travel, toe : (N,) float array
        Wheel travel [mm] and toe [rad] in the order in which they were read.

    Returns
    -------
    MeasuredCurve
        Of degree 3, or less where there are few heights.
    """
    apart = np.zeros(travel.size, dtype=bool)
    for _ in range(max(1, travel.size // 4)):
        coefficients, zero, scatter, left = _fitted(travel, toe, ~apart)
        if (~apart).sum() < FEWEST_FOR_OUTLIERS:
            break
        worst = int(np.argmax(np.where(apart, 0.0, np.abs(left))))
        others = ~apart
        others[worst] = False
        without = _fitted(travel, toe, others)
        distance = abs(toe[worst] - without[1] - _change(travel[worst : worst + 1], without[0])[0])
        if distance < max(APART * without[2], LEAST_APART):
            break
        apart[worst] = True
    coefficients, zero, scatter, _ = _fitted(travel, toe, ~apart)
    play = _play(travel, toe, coefficients, zero, ~apart)
    return MeasuredCurve(travel, toe, coefficients, zero, scatter, play, apart)


def _change(travel: Array, coefficients: Array) -> Array:
    powers = np.vander(travel, len(coefficients) + 1, increasing=True)[:, 1:]
    change: Array = powers @ coefficients
    return change


def _fitted(
    travel: Array, toe: Array, kept: NDArray[np.bool_]
) -> tuple[Array, float, float, Array]:
    """Coefficients, zero, scatter and what is left of every row."""
    longest = max(float(np.abs(travel).max()), 1e-9)
    degree = min(DEGREE, len(np.unique(travel[kept])) - 1)
    powers = np.vander(travel / longest, degree + 1, increasing=True)
    solution = np.linalg.lstsq(powers[kept], toe[kept], rcond=None)[0]
    left: Array = toe - powers @ solution
    freedom = max(int(kept.sum()) - degree - 1, 1)
    scatter = float(np.sqrt((left[kept] ** 2).sum() / freedom))
    return solution[1:] / longest ** np.arange(1, degree + 1), float(solution[0]), scatter, left


def _play(
    travel: Array, toe: Array, coefficients: Array, zero: float, kept: NDArray[np.bool_]
) -> float:
    """Mean toe of rows read on the way up less that of rows read on the way down."""
    left = toe - zero - _change(travel, coefficients)
    way = np.sign(np.gradient(travel))
    up, down = kept & (way > 0), kept & (way < 0)
    if up.sum() < 3 or down.sum() < 3:
        return float("nan")
    return float(left[up].mean() - left[down].mean())
