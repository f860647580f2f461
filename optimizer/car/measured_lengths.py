"""What lengths measured beside the points tell of them: a least-squares fit to tape and lengths."""

import numpy as np

from geometry.vectors import Array, unit
from optimizer.models.case import Case
from optimizer.models.measured_lengths import FLOOR

STEPS = 20
ENOUGH_MM = 1e-9

Places = dict[str, Array]


def spans(case: Case, places: Places) -> Array:
    """What each measured length is between points at some places, (K,). [mm]."""
    found = []
    for one in case.measured:
        first, second = (_place(case, places, name) for name in one.between)
        away = second - first
        found.append(float(away[2]) if one.length is None else float(np.linalg.norm(away)))
    return np.array(found)


def span_rates(case: Case, places: Places, measured_as: dict[str, str]) -> Array:
    """How fast the lengths change with the coordinates of the points, (K, 3P).

    `measured_as` names, for each point, the one whose error it has.
    """
    names = list(places)
    rates = np.zeros((len(case.measured), len(names), 3))
    for row, one in zip(rates, case.measured, strict=True):
        first, second = one.between
        away = _place(case, places, second) - _place(case, places, first)
        along = np.array([0.0, 0.0, 1.0]) if one.length is None else unit(away)
        for name, sign in ((first, -1.0), (second, 1.0)):
            at = "wheel_center" if name == FLOOR else name
            row[names.index(measured_as[at])] += sign * along
    return rates.reshape(len(rates), -1)


def said(case: Case) -> Array:
    """What was measured, (K,). [mm]."""
    return np.array([one.length if one.rise is None else one.rise for one in case.measured])


def sigmas(case: Case) -> Array:
    """One standard deviation of each length, (K,). [mm]."""
    return np.array([one.sigma for one in case.measured])


def _place(case: Case, places: Places, name: str) -> Array:
    if name == FLOOR:  # the ground under the wheel, from wherever z counts
        ground: Array = places["wheel_center"] - np.array([0.0, 0.0, case.wheel.tire_radius])
        return ground
    return places[name]


def narrowed(root: Array, rates: Array, sigma: Array) -> Array:
    """Root of the covariance that lengths leave of coordinates with the covariance of `root`.

    Parameters
    ----------
    root : (N, N) float array
        Of the covariance that the tape gives. [mm]
    rates : (K, N) float array
        Of the lengths with the coordinates.
    sigma : (K,) float array
        One standard deviation of each. [mm]

    Returns
    -------
    (N, N) float array
        The root that moves each coordinate most by its own error. [mm]
    """
    _, told, shapes = np.linalg.svd(rates @ root / sigma[:, None], full_matrices=False)
    left = shapes.T @ ((1.0 / np.sqrt(1.0 + told**2) - 1.0)[:, None] * shapes)
    narrower: Array = root + root @ left
    return narrower
