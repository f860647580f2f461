"""What holds the upright beside the tie rod.

A layout with a lower arm (`ArmLinkage`) places the steering axis for any angle of it; a `LinkSet`
and an `Axle`, on links or leaf springs, say only what is kept.
"""

from geometry.linkages.axle import Axle
from geometry.linkages.beam_axle import BeamAxle
from geometry.linkages.double_wishbone import DoubleWishbone
from geometry.linkages.leaf_axle import LeafAxle
from geometry.linkages.link_set import LinkSet
from geometry.linkages.lower_arm import SteeringAxis
from geometry.linkages.strut import Strut

ArmLinkage = DoubleWishbone | Strut
Linkage = ArmLinkage | LinkSet | Axle

__all__ = [
    "ArmLinkage",
    "Axle",
    "BeamAxle",
    "DoubleWishbone",
    "LeafAxle",
    "LinkSet",
    "Linkage",
    "SteeringAxis",
    "Strut",
]
