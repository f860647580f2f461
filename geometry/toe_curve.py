"""What a toe curve says: its peak, its slope, its curvature, and what remains.

A height error of a pivot shows as slope, a rod-length error as curvature (the "C"); the rest is
the shape of the wheel's own path, which no pivot on this rod removes.
"""

from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array

DEGREE = 5  # of the polynomial whose first two terms are called slope and curvature


@dataclass(frozen=True)
class ToeCurve:
    """Figures of toe curves, each (...).

    `peak` and `rms` are of the toe change itself; `slope` is its derivative at ride height
    [rad/mm]; `curvature` is its square part, as toe at the end of the longer stroke; `remainder` is
    the peak of what slope and curvature leave.  [rad] except the slope.
    """

    peak: Array
    rms: Array
    slope: Array
    curvature: Array
    remainder: Array


def toe_change(travel: Array, toe: Array, wanted: Array | float = 0.0) -> Array:
    """Toe change from ride height beyond a wanted one, (..., H) to (..., H). [rad]

    Parameters
    ----------
    travel : (H,) float array
        Wheel travel, holding 0 once. [mm]
    toe : (..., H) float array
        Toe at each travel, positive toe-in. [rad]
    wanted : (H,) float array or float
        Wanted toe change, positive toe-in, 0 at ride height. [rad]
    """
    home = int(np.flatnonzero(travel == 0.0)[0])
    change: Array = toe - toe[..., home, None] - wanted
    return change


def toe_curve(travel: Array, change: Array) -> ToeCurve:
    """Split toe changes into slope, curvature and remainder.

    Parameters
    ----------
    travel : (H,) float array
        Wheel travel, holding 0, not all of it 0. [mm]
    change : (..., H) float array
        Toe change, 0 at ride height. [rad]

    Returns
    -------
    ToeCurve
        NaN where any height of a curve is NaN.
    """
    longest = float(np.abs(travel).max())
    degree = min(DEGREE, int(np.count_nonzero(travel)))
    terms = np.vander(travel / longest, degree + 1, increasing=True)[:, 1:]
    coefficients = change @ np.linalg.pinv(terms).T
    slope, square = coefficients[..., 0], coefficients[..., 1] if degree > 1 else 0.0
    named = slope[..., None] * terms[:, 0] + np.asarray(square)[..., None] * (travel / longest) ** 2
    return ToeCurve(
        peak=np.abs(change).max(axis=-1),
        rms=np.sqrt((change**2).mean(axis=-1)),
        slope=slope / longest,
        curvature=np.asarray(square) + np.zeros(slope.shape),
        remainder=np.abs(change - named).max(axis=-1),
    )
