"""What the rest of the car has to do with one wheel."""

from optimizer.models.base import FrozenModel
from optimizer.models.quantities import PositiveLength
from optimizer.models.vocabulary import Axle


class Car(FrozenModel):
    """Sizes of the whole car; what needs one that is left out is not told."""

    axle: Axle = "front"
    """Which axle the wheel is of; a rear wheel has a toe link and no lock."""
    wheelbase: PositiveLength | None = None
    """From axle to axle; the Ackermann angle needs it. [mm]"""
    track: PositiveLength | None = None
    """Between this axle's contact points; Ackermann angle and roll steer need it. [mm]"""
