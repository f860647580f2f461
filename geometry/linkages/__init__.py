"""What holds the upright: each linkage places the steering axis for any angle of its lower arm."""

from geometry.linkages.double_wishbone import DoubleWishbone
from geometry.linkages.lower_arm import SteeringAxis
from geometry.linkages.strut import Strut

Linkage = DoubleWishbone | Strut

__all__ = ["DoubleWishbone", "Linkage", "SteeringAxis", "Strut"]
