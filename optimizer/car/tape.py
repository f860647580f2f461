"""How errors of the tape move the points of a wheel: one root of their covariance."""

import numpy as np

from geometry.vectors import Array, unit
from optimizer.car.adjust import Corner, mirror_of
from optimizer.models.case import Case


def point_names(corner: Corner) -> list[str]:
    """Names of all points that a tape has measured, the tie rod's last."""
    return list(corner.measured)


def tape_root(case: Case, corner: Corner) -> Array:
    """Root of the covariance of all measured coordinates, of a left wheel.

    Parameters
    ----------
    case : Case
        Its accuracy is all that is known of the errors.
    corner : Corner
        The wheel; its points in the order of `point_names`.

    Returns
    -------
    (3P, 3P) float array
        Times independent errors of one standard deviation it gives errors of the coordinates: the
        standard deviations on its diagonal where errors have nothing to do with each other. [mm]
    """
    names, accuracy = point_names(corner), case.accuracy
    root = np.diag(np.array([accuracy.of(name) for name in names]).ravel())
    together = accuracy.covariance_root
    at = [3 * names.index(name) + axis for name in together for axis in range(3)]
    for place, row in zip(at, (row for rows in together.values() for row in rows), strict=True):
        root[place, at[: len(row)]] = row
    mirror = np.tile(mirror_of(case), len(names))
    signed: Array = mirror[:, None] * root * mirror
    return signed


def length_deviation(case: Case, corner: Corner, start: str, end: str) -> float:
    """Standard deviation of the distance between two points. [mm]."""
    names, measured = point_names(corner), corner.measured
    rates = np.zeros((len(names), 3))
    rates[names.index(end)] = unit(measured[end] - measured[start])
    rates[names.index(start)] = -rates[names.index(end)]
    return float(np.linalg.norm(rates.ravel() @ tape_root(case, corner)))
