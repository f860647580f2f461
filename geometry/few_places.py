"""A smooth curve at very many places, from what it is at few: the polynomial through those.

The few are Chebyshev points, through which a polynomial follows an analytic curve within an error
that falls by the same factor with every point more: L. N. Trefethen, Approximation Theory and
Approximation Practice (2013), theorem 8.2 (from memory).
"""

import numpy as np

from geometry.vectors import Array

FEW = 65


def through_few_places(places: Array) -> tuple[Array, Array]:
    """Few places, and what makes values there into those at all places.

    Parameters
    ----------
    places : (N,) float array
        At least two of them differ.

    Returns
    -------
    (K,) float array, (N, K) float array
        From the lowest place to the highest; the product of the second with the values at the first
        gives the values at `places`.
    """
    low, high = float(places.min()), float(places.max())
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    few = -np.cos(np.linspace(0.0, np.pi, FEW))
    at_few, at_all = (
        np.cos(np.arccos(x)[:, None] * np.arange(FEW))  # Chebyshev polynomials
        for x in (few, np.clip((places - middle) / half, -1.0, 1.0))
    )
    onto = np.asarray(np.linalg.solve(at_few.T, at_all.T).T, dtype=np.float64)
    return middle + half * few, onto
