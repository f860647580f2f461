"""Networks of points held by more readings than they need: least squares, and how far to trust it.

Gauss-Newton on weighted residuals.  What each reading is checked by the others is its redundancy
number; how far it stands from them is its normalised residual, the w-test of Baarda [1]_.

.. [1] W. Baarda, "A Testing Procedure for Use in Geodetic Networks", Netherlands Geodetic
   Commission, Publications on Geodesy, New Series, vol. 2 no. 5, Delft, 1968.
.. [2] W. Squire and G. Trapp, "Using Complex Variables to Estimate Derivatives of Real Functions",
   SIAM Review 40 (1998) 110-112.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.vectors import Array

ROUNDS = 60
HALVINGS = 12
ENOUGH = 1e-10  # of a step against what is known of the unknowns: standard deviations
COMPLEX_STEP = 1e-30
LEAST_REDUNDANCY = 1e-6  # below it no other reading says anything of a reading
LOOSE = 1e-7  # of the largest singular value: directions that no reading holds

# Shift of a standard normal that a two-sided test of 0.1 % finds in 80 of 100 cases [1]_.
FOUND_SHIFT = 4.13

Model = Callable[[Array], Array]


@dataclass(frozen=True)
class Adjusted:
    """Most probable unknowns, and what the readings say of each other.

    `unknowns` (U,) with `covariance` (U, U) from the stated deviations; `residuals` (N,) readings
    less the model; `redundancy` (N,) 0 where a reading is checked by nothing, 1 where it adds
    nothing; `normalized` (N,) residuals in their own standard deviations, 0 where nothing checks.
    `influence` (N, N) is the covariance of the residuals.
    """

    unknowns: Array
    covariance: Array
    residuals: Array
    sigma: Array
    influence: Array

    @cached_property
    def redundancy(self) -> Array:
        """Share of a mistake in a reading that shows in its own residual, (N,)."""
        share: Array = np.clip(np.diag(self.influence) / self.sigma**2, 0.0, 1.0)
        return share

    @cached_property
    def normalized(self) -> Array:
        """Residuals in units of their own standard deviation, (N,); w of [1]_."""
        checked = self.redundancy > LEAST_REDUNDANCY
        spread = self.sigma * np.sqrt(np.where(checked, self.redundancy, 1.0))
        return np.where(checked, self.residuals / spread, 0.0)

    @cached_property
    def mistakes(self) -> Array:
        """What each reading would be wrong by, if it alone were wrong, (N,)."""
        checked = self.redundancy > LEAST_REDUNDANCY
        return np.where(checked, self.residuals / np.where(checked, self.redundancy, 1.0), 0.0)

    @cached_property
    def least_found(self) -> Array:
        """Smallest mistake that the w-test finds in 80 of 100 cases, (N,); infinite unchecked."""
        checked = self.redundancy > LEAST_REDUNDANCY
        root = np.sqrt(np.where(checked, self.redundancy, 1.0))
        return np.where(checked, FOUND_SHIFT * self.sigma / root, np.inf)

    @property
    def freedom(self) -> int:
        """How many readings there are beyond those needed."""
        return self.residuals.size - self.unknowns.size

    @property
    def chi_square(self) -> float:
        """Sum of squares of the weighted residuals."""
        return float(np.sum((self.residuals / self.sigma) ** 2))

    def explained_by(self, rows: list[int]) -> float:
        """By how much chi-square would fall if all of these readings were left out together."""
        along, share, _ = self._checked(rows)
        return float(np.sum(along**2 / share))

    def mistakes_in(self, rows: list[int]) -> Array:
        """What these readings would be wrong by, if they alone were wrong, (len(rows),)."""
        along, share, directions = self._checked(rows)
        mistakes: Array = self.sigma[rows] * (directions @ (along / share))
        return mistakes

    def _checked(self, rows: list[int]) -> tuple[Array, Array, Array]:
        """Residuals of readings in the directions (R, D) in which others check them, (D,).

        In standard deviations; and the share of a mistake along each that shows there, (D,).
        """
        at = np.ix_(rows, rows)
        share, directions = np.linalg.eigh(
            self.influence[at] / np.outer(self.sigma[rows], self.sigma[rows])
        )
        checked = share > LEAST_REDUNDANCY
        directions = directions[:, checked]
        return directions.T @ (self.residuals / self.sigma)[rows], share[checked], directions


def root_by_point(
    names: Sequence[str], covariance: Array
) -> dict[str, tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]]:
    """Lower triangle L of a covariance L L' (3P, 3P), by point a row each for x, y and z.

    Raises
    ------
    numpy.linalg.LinAlgError
        It is none of coordinates that can each err by themselves.
    """
    root = np.linalg.cholesky(covariance)
    rows = [tuple(row[: k + 1].tolist()) for k, row in enumerate(root)]
    return {name: (rows[3 * k], rows[3 * k + 1], rows[3 * k + 2]) for k, name in enumerate(names)}


def rates_of(model: Model, unknowns: Array) -> Array:
    """Rates of a model's readings with its unknowns, (N, U), by a complex step [2]_."""
    stepped = unknowns + 1j * COMPLEX_STEP * np.eye(unknowns.size)
    rates: Array = model(stepped).imag.T / COMPLEX_STEP
    return rates


def loose_directions(model: Model, unknowns: Array, sigma: Array) -> Array:
    """Directions of the unknowns, (K, U), along which no reading changes."""
    _, size, directions = np.linalg.svd(rates_of(model, unknowns) / sigma[:, None])
    size = np.append(size, np.zeros(unknowns.size - size.size))
    loose: Array = directions[size < LOOSE * size.max()]
    return loose


def adjusted(model: Model, start: Array, readings: Array, sigma: Array) -> Adjusted:
    """Fit the unknowns of a network to all of its readings.

    Parameters
    ----------
    model : callable
        Takes unknowns (..., U), complex ones too, and gives what would be read, (..., N).
    start : (U,) float array
        Where to begin.
    readings : (N,) float array
        What was read, errors independent.
    sigma : (N,) float array
        Standard deviation of each reading.

    Returns
    -------
    Adjusted
        At the smallest sum of squares that is met on the way down from `start`.

    Raises
    ------
    numpy.linalg.LinAlgError
        The readings leave something open: ask `loose_directions` first.
    """
    unknowns, left = _fitted(model, start, (readings, sigma), ROUNDS)
    rates = rates_of(model, unknowns) / sigma[:, None]
    covariance = np.linalg.inv(rates.T @ rates)
    influence = np.eye(sigma.size) - rates @ covariance @ rates.T
    return Adjusted(
        unknowns=unknowns,
        covariance=np.asarray(covariance, dtype=np.float64),
        residuals=left * sigma,
        sigma=sigma,
        influence=influence * np.outer(sigma, sigma),
    )


def soon_left(model: Model, start: Array, readings: Array, sigma: Array, rounds: int) -> float:
    """Chi-square that so many rounds of `adjusted` leave: whether the readings come to agree."""
    left = _fitted(model, start, (readings, sigma), rounds)[1]
    return float(left @ left)


def _fitted(
    model: Model, start: Array, read: tuple[Array, Array], rounds: int
) -> tuple[Array, Array]:
    """Unknowns after at most so many steps, and the weighted residuals there.

    `read` are the readings and their standard deviations.
    """
    readings, sigma = read
    unknowns, left = start, (readings - model(start)) / sigma
    for _ in range(rounds):
        rates = rates_of(model, unknowns) / sigma[:, None]
        step = np.linalg.lstsq(rates, left, rcond=None)[0]
        for _ in range(HALVINGS):
            nearer = (readings - model(unknowns + step)) / sigma
            if nearer @ nearer <= left @ left * (1.0 + 1e-12):
                break
            step = 0.5 * step
        unknowns, left = unknowns + step, nearer
        if np.abs(rates @ step).max() < ENOUGH * max(1.0, float(np.abs(left).max())):
            break
    return unknowns, left
