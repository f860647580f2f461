"""The wheel as measured, the ride height and travel to work for, and the rest of the car."""

from collections.abc import Iterator

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.quantities import (
    Adjustment,
    LengthFromZero,
    PositiveLength,
    Stroke,
    TireRadius,
    WheelAngle,
)
from optimizer.models.vocabulary import Axle
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


class Car(FrozenModel):
    """Sizes of the whole car; what needs one that is left out is not told."""

    axle: Axle = "front"
    """Which axle the wheel is of; a rear wheel has a toe link and no lock."""
    wheelbase: PositiveLength | None = None
    """From axle to axle; the Ackermann angle needs it. [mm]"""
    track: PositiveLength | None = None
    """Between this axle's contact points; Ackermann angle and roll steer need it. [mm]"""
