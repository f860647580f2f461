"""What a toe curve says is wrong: height or length, and which pivot cures it.

The direction map is common practice, checked on an exact model in the tests.
"""

import numpy as np

from geometry.vectors import Array
from optimizer.models.result import Diagnosis, Steers
from optimizer.models.setting import ToeFigures
from optimizer.models.vocabulary import Vocabulary

STEADY_DEG = 0.005  # a toe change below this is called none

LOWER_OUTER = "lower the outer pivot or raise the {inner}"
RAISE_OUTER = "raise the outer pivot or lower the {inner}"
TOO_SHORT = "the {rod} is too short: move the inner pivot {farther} or the outer pivot outboard"
TOO_LONG = "the {rod} is too long: move the inner pivot {nearer} or the outer pivot inboard"


def height_cure(slope: float, *, arms_ahead: bool, words: Vocabulary) -> str:
    """Say which way to move a pivot for a slope of toe, positive for toe-in in bump."""
    cure = LOWER_OUTER if (slope < 0.0) != arms_ahead else RAISE_OUTER
    return cure.format(inner=words.inner)


def length_cure(curvature: float, *, arms_ahead: bool, words: Vocabulary) -> str:
    """Say what is wrong with the rod's length for a curvature, positive for toe-in both ways."""
    cure = TOO_SHORT if (curvature < 0.0) != arms_ahead else TOO_LONG
    return cure.format(rod=words.rod, farther=words.farther, nearer=words.nearer)


def diagnosis(
    figures: ToeFigures,
    change_deg: Array,
    travel: Array,
    *,
    arms_ahead: bool,
    tolerance_deg: float,
    words: Vocabulary,
) -> Diagnosis:
    """Put a toe curve into words.

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
    words : Vocabulary
        What the parts of the car are called.

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
        height_cure=height_cure(slope, arms_ahead=arms_ahead, words=words)
        if abs(slope) > tolerance_deg
        else None,
        length_cure=length_cure(curvature, arms_ahead=arms_ahead, words=words)
        if abs(curvature) > tolerance_deg
        else None,
    )


def _steers(change_deg: float) -> Steers:
    if abs(change_deg) < STEADY_DEG:
        return "no change"
    return "toe-in" if change_deg > 0.0 else "toe-out"
