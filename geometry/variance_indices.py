"""Variance-based indices: what of a figure's spread is due to one input, alone and with others.

[1] A. Saltelli et al., "Variance based sensitivity analysis of model output. Design and estimator
for the total sensitivity index", Computer Physics Communications 181 (2010), 259-270: first order
as eq. (b) of its table 2, total order after Jansen as eq. (f).
"""

from collections.abc import Callable

import numpy as np

from geometry.vectors import Array

Figure = Callable[[Array], Array]


def uniform_of_normal(normal: Array) -> Array:
    """Values between -1 and 1, each as probable as another, of normal ones of any shape."""
    from scipy.special import ndtr  # slow to import, and needed for few questions

    uniform: Array = 2.0 * ndtr(normal) - 1.0
    return uniform


def variance_indices(
    figure: Figure, one: Array, other: Array, directions: Array
) -> tuple[Array, Array]:
    """First-order and total indices of a figure with inputs that are independent and normal.

    Such inputs stay so however their axes are turned, so any direction among them may count as an
    input: a coordinate that shares its error with others, or a length between two points.

    Parameters
    ----------
    figure : callable
        Of inputs (N, D), gives (N,).
    one, other : (N, D) float array
        Two independent draws, each input with mean 0 and variance 1.
    directions : (K, D) float array
        Unit vectors.

    Returns
    -------
    (K,) float array, (K,) float array
        Share of the variance that goes if the input is known; share that is left if all others
        are.  Both 0 where the figure doesn't vary.
    """
    of_one, of_other = figure(one), figure(other)
    variance = np.var(np.concatenate([of_one, of_other]))
    first, total = np.zeros(len(directions)), np.zeros(len(directions))
    if variance <= 0.0:
        return first, total
    # About its mean, which changes nothing but the noise of the estimate.
    middle = np.mean(np.concatenate([of_one, of_other]))
    for k, way in enumerate(directions):
        mixed = figure(one + ((other - one) @ way)[:, None] * way)
        first[k] = np.mean((of_other - middle) * (mixed - of_one)) / variance
        total[k] = np.mean((of_one - mixed) ** 2) / (2.0 * variance)
    return first, total
