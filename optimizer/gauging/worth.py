"""What a shim is worth on a car of which two lengths are known, before any reading."""

import numpy as np

from optimizer.gauging.questions import UNKNOWN_DIAMETER_MM
from optimizer.limits.cautions import cautions_without_points
from optimizer.models.lengths import Lengths, ShimWorth, WorthResult
from optimizer.models.subject import Subject
from optimizer.units import MM_PER_INCH

USUAL_MM = {"mm": 1.0, "in": MM_PER_INCH / 32.0}  # a height to think in; the thinnest usual washer


def worth(lengths: Lengths) -> WorthResult:
    """Say what a millimeter or a washer is worth, and each piece of the shelf.

    Front view, small angles: a height h makes a slope h / (rod x arm).
    """
    car, display = lengths.car, lengths.display
    subject = Subject(
        name=lengths.name,
        layout="unknown",
        axle=car.axle or "front",
        steering_kind=None if car.axle == "rear" else car.steering or "rack",
        sides=["left"],
        units=lengths.units,
        toe_unit=display.toe_unit,
        toe_diameter_mm=display.diameter or car.tire_diameter or UNKNOWN_DIAMETER_MM,
        dialect=display.words,
    )
    sizes = [] if lengths.shelf is None else [shim.thickness for shim in lengths.shelf.shims]
    return WorthResult(
        subject=subject,
        worth=[
            _shim_worth(lengths, height, subject.toe_diameter_mm)
            for height in sorted({USUAL_MM[lengths.units], *sizes})
        ],
        cautions=cautions_without_points(stack=True, raised=True),
    )


def _shim_worth(lengths: Lengths, height: float, diameter: float) -> ShimWorth:
    car = lengths.car
    slope = height / ((car.rod_length or np.nan) * (car.steering_arm or np.nan))
    return ShimWorth(
        units=lengths.units,
        height_mm=height,
        slope_deg_per_10mm=float(np.degrees(slope)) * 10.0,
        slope_in_per_in=float(slope * diameter),
        arms=car.arms,
    )
