"""What holds the upright beside the tie rod.

A layout with a lower arm (`ArmLinkage`) places the steering axis for any angle of it; a `LinkSet`
and a `BeamAxle` say only which lengths are kept.
"""

from geometry.linkages.beam_axle import BeamAxle
from geometry.linkages.double_wishbone import DoubleWishbone
from geometry.linkages.link_set import LinkSet
from geometry.linkages.lower_arm import SteeringAxis
from geometry.linkages.strut import Strut

ArmLinkage = DoubleWishbone | Strut
Linkage = ArmLinkage | LinkSet | BeamAxle

__all__ = [
    "ArmLinkage",
    "BeamAxle",
    "DoubleWishbone",
    "LinkSet",
    "Linkage",
    "SteeringAxis",
    "Strut",
]
