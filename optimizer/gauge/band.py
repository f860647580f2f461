"""Readings against a wanted band: a maker's, a team's, zero or not."""

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.gauge.measured import MeasuredCurve
from optimizer.models.case import Aim
from optimizer.models.readings import ReadingsAim
from optimizer.units import Units, length_text

Band = tuple[tuple[float, ...], ...]


def wanted_aim(aim: ReadingsAim) -> Aim:
    """Gain and tolerance of a readings file's aim; a band's gain is the slope of its middle."""
    gain = aim.toe_gain_deg_per_10mm
    if aim.band is not None and "toe_gain_deg_per_10mm" not in aim.model_fields_set:
        travel, least, most = np.array(aim.band).T
        middle = 0.5 * (least + most)
        gain = float(10.0 * (travel @ middle) / (travel @ travel))
    return Aim(toe_gain_deg_per_10mm=gain, tolerance_deg=aim.tolerance_deg)


def beyond_band(band: Band, travel: Array, change_deg: Array) -> Array:
    """How far toe changes lie outside a band, (N,): toe-in positive, 0 inside. [deg].

    Between its rows the band is straight; NaN beyond its ends, where it says nothing.
    """
    heights, least, most = np.array(band).T
    low = np.interp(travel, heights, least, left=np.nan, right=np.nan)
    high = np.interp(travel, heights, most, left=np.nan, right=np.nan)
    beyond: Array = np.maximum(change_deg - high, 0.0) + np.minimum(change_deg - low, 0.0)
    return beyond


def keeps_band(band: Band, travel: Array, change_deg: Array) -> bool:
    """Whether toe changes stay inside a band wherever it says anything."""
    return not (np.abs(np.nan_to_num(beyond_band(band, travel, change_deg))) > 0.0).any()


def judged_by_band(band: Band, curve: MeasuredCurve, units: Units) -> str:
    """Say whether the readings stay inside the band, and where they leave it most."""
    kept: NDArray[np.bool_] = ~curve.apart
    travel, change = curve.travel[kept], np.degrees(curve.toe - curve.zero)[kept]
    beyond = beyond_band(band, travel, change)
    judged = int(np.isfinite(beyond).sum())
    if not judged:
        return "No reading lies at a height that the wanted band covers."
    outside = int((np.abs(np.nan_to_num(beyond)) > 0.0).sum())
    if not outside:
        return f"Inside the wanted band at all {judged} readings that it covers."
    worst = int(np.nanargmax(np.abs(beyond)))
    way = "toe-in" if beyond[worst] > 0.0 else "toe-out"
    return (
        f"Outside the wanted band at {outside} of {judged} readings, most at travel "
        f"{length_text(travel[worst], units)}: {abs(beyond[worst]):.3f} deg more {way} than it "
        "allows."
    )
