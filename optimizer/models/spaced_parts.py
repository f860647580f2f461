"""Parts that are spaced away from what holds them: knuckle plate and crossmember spacers."""

from optimizer.models.base import FrozenModel
from optimizer.models.hardware import Raises


class KnucklePlate(FrozenModel):
    """A plate between strut foot and steering arm: ball joint and rod eye go down together."""

    thickness: Raises = (0.0,)
    """Thickness of each choice, none where 0; the first is what the car has now. [mm]"""


class Crossmember(FrozenModel):
    """Spacers between crossmember and body: the lower arms' inner pivots go down with it."""

    spacer: Raises = (0.0,)
    """Height of each choice, none where 0; the first is what the car has now. [mm]"""
    carries_rack: bool = True
    """Whether the rack sits on the crossmember and goes down too."""
