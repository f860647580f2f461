"""What holds the upright beside the tie rod.

A `Linkage` has a lower arm and places the steering axis for any angle of it; a `LinkSet` says only
which lengths are kept.
"""

from geometry.linkages.double_wishbone import DoubleWishbone
from geometry.linkages.link_set import LinkSet
from geometry.linkages.lower_arm import SteeringAxis
from geometry.linkages.strut import Strut

Linkage = DoubleWishbone | Strut

__all__ = ["DoubleWishbone", "LinkSet", "Linkage", "SteeringAxis", "Strut"]
