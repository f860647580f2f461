"""The wanted toe curve as numbers, and toe curves held against a wanted band."""

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.models.aim import Aim, Band
from optimizer.models.setting import BandVerdict

EDGE_DEG = 1e-9  # nearer than this to the edge of a band is inside


def wanted_change(aim: Aim, travel: Array) -> Array:
    """Toe change that is wanted at wheel travels.

    Parameters
    ----------
    aim : Aim
        A gain, or a band.
    travel : (T,) float array
        Wheel travel from ride height. [mm]

    Returns
    -------
    (T,) float array
        Positive toe-in, 0 at ride height. A band is wanted to be kept in the middle at each of its
        rows, in straight lines between them and ride height; beyond its ends, where it says
        nothing, the curve goes on with `wanted_slope`. [rad]
    """
    if aim.band is None:
        return wanted_slope(aim) * travel
    heights, middle = _middle(aim.band)
    apart = heights != 0.0
    place = np.searchsorted(heights[apart], 0.0)
    heights = np.insert(heights[apart], place, 0.0)
    middle = np.insert(middle[apart], place, 0.0)
    beyond = travel - np.clip(travel, heights[0], heights[-1])
    change: Array = np.interp(travel, heights, middle) + wanted_slope(aim) * beyond
    return change


def wanted_slope(aim: Aim) -> float:
    """Slope of the straight line through ride height that is nearest to what is wanted. [rad/mm]"""
    if aim.band is None:
        return float(np.radians(aim.gain_deg_per_10mm) / 10.0)
    heights, middle = _middle(aim.band)
    return float((heights @ middle) / (heights @ heights))


def wanted_curvature(aim: Aim, travel: Array) -> float:
    """Square part of what is wanted over wheel travels (T,), beside a slope. [rad/mm^2]"""
    if aim.band is None:
        return 0.0
    scale = float(np.abs(travel).max())
    terms = np.vander(travel / scale, 3)[:, :2]
    return float(np.linalg.lstsq(terms, wanted_change(aim, travel), rcond=None)[0][0]) / scale**2


def _middle(band: Band) -> tuple[Array, Array]:
    heights, least, most = np.array(band).T
    return heights, np.radians(0.5 * (least + most))


def beyond_band(band: Band, travel: Array, change_deg: Array) -> Array:
    """How far toe changes lie outside a band, (..., N): toe-in positive, 0 inside. [deg]

    Between its rows the band is straight; NaN beyond its ends, where it says nothing.
    """
    heights, least, most = np.array(band).T
    low = np.interp(travel, heights, least, left=np.nan, right=np.nan)
    high = np.interp(travel, heights, most, left=np.nan, right=np.nan)
    beyond: Array = np.maximum(change_deg - high, 0.0) + np.minimum(change_deg - low, 0.0)
    return beyond


def inside_band(band: Band, travel: Array, change_deg: Array) -> NDArray[np.bool_]:
    """Whether toe changes (..., H) at wheel travels (H,) keep a band, (...,); not where NaN."""
    beyond = beyond_band(band, travel, change_deg)
    said = np.isfinite(beyond)
    inside = (np.where(said, np.abs(beyond), 0.0) <= EDGE_DEG) & np.isfinite(change_deg)
    return np.asarray(inside.all(axis=-1) & said.any(axis=-1))


def band_verdict(
    band: Band, travel: Array, change_deg: Array, what: str = "heights"
) -> BandVerdict:
    """Whether toe changes (N,) keep a band, and where they leave it most.

    Parameters
    ----------
    band : Band
        As a case or a readings file gives it.
    travel, change_deg : (N,) float array
        Wheel travel [mm] and toe change from ride height [deg]; NaN is not judged.
    what : str
        What the changes are, in the plural.
    """
    beyond = beyond_band(band, travel, change_deg)
    judged = int(np.isfinite(beyond).sum())
    outside = int((np.abs(np.nan_to_num(beyond)) > EDGE_DEG).sum())
    if not outside:
        return BandVerdict(what=what, judged=judged, outside=0)
    worst = int(np.nanargmax(np.abs(beyond)))
    return BandVerdict(
        what=what,
        judged=judged,
        outside=outside,
        travel_mm=float(travel[worst]),
        beyond_deg=float(beyond[worst]),
    )
