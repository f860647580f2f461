"""The wheel as measured, and the ride height and travel to work for."""

from collections.abc import Iterator

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.quantities import (
    Adjustment,
    LengthFromZero,
    Stroke,
    TireRadius,
    WheelAngle,
)
from optimizer.units import Units


class Wheel(FrozenModel):
    """The wheel as measured."""

    toe_deg: WheelAngle = 0.0
    """Toe of this wheel, toe-in positive. [deg]"""
    camber_deg: WheelAngle = 0.0
    """Camber, top outboard positive. [deg]"""
    tire_radius: TireRadius
    """from the ground to the wheel center, with the car's weight on the tire"""


class Ride(FrozenModel):
    """The ride height to work for, and the travel that the car uses about it."""

    lowered_by: Adjustment = 0.0
    """How much lower the chassis is to sit than when it was measured; below 0 raised. [mm]"""
    bump: Stroke
    """how far the wheel rises in use, from ride height"""
    droop: Stroke
    """how far the wheel falls in use, from ride height"""
    toe_deg: WheelAngle | None = None
    """Toe of this wheel after alignment at ride height; as measured if left out. [deg]"""
    settles_by: LengthFromZero = 0.0
    """How much the car is yet to come down after toe is set, as new springs do. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.bump == 0.0 and self.droop == 0.0:
            yield Fault("bump", "must be above 0 where droop is 0, got 0 for both")
