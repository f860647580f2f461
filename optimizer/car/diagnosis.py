"""What a toe curve says is wrong: height or length, and which pivot cures it.

The direction map is common practice, checked on an exact model in the tests.
"""

import numpy as np

from geometry.vectors import Array
from optimizer.models.setting import ToeFigures
from optimizer.models.suggest import Diagnosis, HeightCure, LengthCure, Steers

STEADY_DEG = 0.005  # a toe change below this is called none


def height_cure(slope: float, *, arms_ahead: bool) -> HeightCure:
    """Which way to move a pivot for a slope of toe, positive for toe-in in bump."""
    return "lower-outer" if (slope < 0.0) != arms_ahead else "raise-outer"


def length_cure(curvature: float, *, arms_ahead: bool) -> LengthCure:
    """What the rod's length asks for at a curvature, positive for toe-in both ways."""
    return "lengthen-rod" if (curvature < 0.0) != arms_ahead else "shorten-rod"


def diagnosis(
    figures: ToeFigures,
    change_deg: Array,
    travel: Array,
    *,
    arms_ahead: bool,
    tolerance_deg: float,
) -> Diagnosis:
    """What a toe curve says is wrong.

    Parameters
    ----------
    figures : ToeFigures
        Figures of the curve.
    change_deg, travel : (H,) float array
        Toe change [deg] against wheel travel [mm], ascending.
    arms_ahead : bool
        Whether the steering arms point ahead of the axle.
    tolerance_deg : float
        A part of the curve that stays within this asks for no cure. [deg]

    Returns
    -------
    Diagnosis
        With the slope's and the curvature's share of the toe change at the end of the longer
        stroke.
    """
    longest = float(np.abs(travel).max())
    slope = figures.toe_slope_deg_per_10mm * longest / 10.0
    curvature = figures.toe_curvature_deg
    return Diagnosis(
        arms="ahead" if arms_ahead else "behind",
        steers_in_bump=_steers(float(change_deg[-1])),
        steers_in_droop=_steers(float(change_deg[0])),
        slope_share_deg=slope,
        curvature_share_deg=curvature,
        height_cure=height_cure(slope, arms_ahead=arms_ahead)
        if abs(slope) > tolerance_deg
        else None,
        length_cure=length_cure(curvature, arms_ahead=arms_ahead)
        if abs(curvature) > tolerance_deg
        else None,
    )


def _steers(change_deg: float) -> Steers:
    if abs(change_deg) < STEADY_DEG:
        return "no change"
    return "toe-in" if change_deg > 0.0 else "toe-out"
