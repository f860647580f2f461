"""Beam axle: one beam on four links carries a knuckle at each end."""

from dataclasses import dataclass

import numpy as np

from geometry.linkages.knuckles import Knuckles
from geometry.linkages.link_set import side_by_side
from geometry.vectors import Array, norm, unit

MIRROR = np.array([1.0, -1.0, 1.0])  # from the left side of the car to the right
MIDDLE = np.array([1.0, 0.0, 1.0])  # from a wheel center to the middle between the two


@dataclass(frozen=True)
class BeamAxle:
    """A rigid axle that is steered at its left wheel, as measured. [mm]

    Four links, one of them the lateral link, keep their `lengths` (..., 4) between `link_inner` in
    the chassis and `link_outer` in the beam, both (..., 4, 3): heave and roll stay free.  The left
    knuckle turns in the beam about the kingpin, from `kingpin_lower` to `kingpin_upper`, and has
    the `wheel_center` and the `cross_rod_end`, each (..., 3).  The right one is its mirror image,
    and the cross rod joins the two.  The drag link, from the pitman ball to the left knuckle, is
    the rod that the motion takes.  Lengths other than the measured distances stand for what was
    fitted afterwards.

    Both wheel centers rise by the wheel travel, unless `roll_about` (...) says that they travel
    opposite ways about a height so much above the measured pose: the right one then rises by
    ``2 * roll_about - travel``.
    """

    link_inner: Array
    link_outer: Array
    lengths: Array
    kingpin_lower: Array
    kingpin_upper: Array
    cross_rod_end: Array
    wheel_center: Array
    roll_about: Array | None = None

    @staticmethod
    def of(roll_about: Array | None = None, **points: Array) -> "BeamAxle":
        """Make an axle from named points, each (..., 3). [mm]

        They are ``link_1_inner`` in the chassis and ``link_1_outer`` in the beam, and so on to 4;
        ``kingpin_lower``, ``kingpin_upper``, ``cross_rod_end`` and ``wheel_center``.
        """
        inner, outer = (
            side_by_side(*(points[f"link_{k}_{end}"] for k in range(1, 5)))
            for end in ("inner", "outer")
        )
        return BeamAxle(
            inner,
            outer,
            norm(outer - inner),
            points["kingpin_lower"],
            points["kingpin_upper"],
            points["cross_rod_end"],
            points["wheel_center"],
            roll_about,
        )

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
