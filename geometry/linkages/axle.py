"""What steered axles have in common: a beam that carries a knuckle at each end."""

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from geometry.linkages.conditions import Condition
from geometry.linkages.knuckles import Knuckles
from geometry.vectors import Array, unit

MIRROR = np.array([1.0, -1.0, 1.0])  # from the left side of the car to the right
MIDDLE = np.array([1.0, 0.0, 1.0])  # from a wheel center to the middle between the two


@dataclass(frozen=True, kw_only=True)
class Axle(ABC):
    """A rigid axle that is steered at its left wheel, as measured. [mm]

    The left knuckle turns in the beam about the kingpin, from `kingpin_lower` to `kingpin_upper`,
    and has the `wheel_center` and the `cross_rod_end`, each (..., 3).  The right one is its mirror
    image, and the cross rod joins the two.  The drag link, from the pitman ball to the left
    knuckle, is the rod that the motion takes.

    Both wheel centers rise by the wheel travel, unless `roll_about` (...) says that they travel
    opposite ways about a height so much above the measured pose: the right one then rises by
    ``2 * roll_about - travel``.
    """

    kingpin_lower: Array
    kingpin_upper: Array
    cross_rod_end: Array
    wheel_center: Array
    roll_about: Array | None = None

    @abstractmethod
    def holding(self) -> tuple[Condition, ...]:
        """What holds the beam in the chassis, four conditions: heave and roll stay free."""

    @property
    def center(self) -> Array:
        """The middle between the wheel centers as measured, (..., 3): the beam's center. [mm]"""
        center: Array = self.wheel_center * MIDDLE
        return center

    def knuckles(self) -> Knuckles:
        """Both knuckles, as the beam carries them."""
        direction = unit(self.kingpin_upper - self.kingpin_lower)
        points = (self.kingpin_lower - self.center, direction, self.wheel_center - self.center)
        return Knuckles(*(both_sides(point) for point in points))

    def rises(self, travel: Array) -> Array:
        """How far the left and the right wheel center rise, (...) to (..., 2). [mm]"""
        right = travel if self.roll_about is None else 2.0 * self.roll_about - travel
        return np.stack(np.broadcast_arrays(travel, right), axis=-1)


def both_sides(point: Array) -> Array:
    """A point or a direction of the left side, and its mirror image, (..., 3) to (..., 2, 3)."""
    return np.stack([point, point * MIRROR], axis=-2)
