"""A corner of every kind, alike for what every motion must do: arms, links and axles."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from geometry.linkages import Linkage
from geometry.poses import Motion, Rod

from .axle_cars import AXLE_CARS, axle_of
from .corners import Array, corner_points, linkage_of, rod_between
from .link_cars import LINK_CARS
from .printed import published

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

ANCHORS = published("corner_anchors")
ON_ARMS = {
    name: (ANCHORS[name]["layout"], corner_points(ANCHORS[name]["points"]))
    for name in ("double_wishbone", "strut")
}


@dataclass(frozen=True)
class Corner:
    """Points of a left wheel, the linkage that they make, and what the ends of its rod are called.

    On an axle that is the drag link.
    """

    points: dict[str, Array]
    linkage_of: Callable[[dict[str, Array]], Linkage]
    rod_name: str = "tie_rod"

    @property
    def linkage(self) -> Linkage:
        return self.linkage_of(self.points)

    def rod(self, length: float = 1.0) -> Rod:
        """The rod as measured, or so many times as long."""
        inner, outer = (self.points[f"{self.rod_name}_{end}"] for end in ("inner", "outer"))
        measured = rod_between(inner, outer)
        return Rod(inner, outer, length * measured.length)


EVERY_CORNER = {
    name: Corner(points, partial(linkage_of, layout))
    for name, (layout, points) in (ON_ARMS | LINK_CARS).items()
} | {name: Corner(points, axle_of, "drag_link") for name, points in AXLE_CARS.items()}


def row(motion: Motion, at: object) -> Motion:
    """One motion of a batch."""
    return Motion(
        motion.rotation[at], motion.translation[at], motion.steering_axis[at], motion.reach[at]
    )


def assert_same(first: Motion, second: Motion) -> None:
    np.testing.assert_array_equal(first.reach, second.reach)
    np.testing.assert_allclose(
        np.degrees(first.rotation), np.degrees(second.rotation), rtol=0, atol=ANGLE_ATOL_DEG
    )
    np.testing.assert_allclose(first.translation, second.translation, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_allclose(
        first.steering_axis, second.steering_axis, rtol=0, atol=np.radians(ANGLE_ATOL_DEG)
    )
