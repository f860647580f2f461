"""Points of one wheel's suspension as measured, by layout.

All points are (x, y, z) tuples: x forward, y to the left, z up. [mm]
"""

from collections.abc import Iterator
from itertools import combinations
from typing import ClassVar, Literal

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.point_faults import (
    coincident,
    crowded_joint,
    no_arm,
    no_leaf,
    no_link,
    no_strut_line,
    not_above,
    odd_rod_length,
    off_side,
)
from optimizer.models.quantities import Point, Triple
from optimizer.units import Units


class Points(FrozenModel):
    """Points that every layout has, and the rod that sets the wheel's toe."""

    rod: ClassVar[str] = "tie_rod"
    """what the names of the rod's two points begin with"""
    may_meet: ClassVar[frozenset[frozenset[str]]] = frozenset()
    """pairs of points that may lie in one place: links that share a joint"""

    wheel_center: Point
    """where the axle's line meets the middle plane of the tire"""

    @property
    def rod_inner(self) -> Triple:
        """Center of the rod's joint at the chassis. [mm]."""
        return self._end("inner")

    @property
    def rod_outer(self) -> Triple:
        """Center of the rod's joint at the wheel's side, on its standard seat. [mm]."""
        return self._end("outer")

    def _end(self, end: str) -> Triple:
        point: Triple = getattr(self, f"{self.rod}_{end}")
        return point

    def _faults(self, units: Units) -> Iterator[Fault]:
        return self._misplaced(self.model_dump(), units)

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from coincident(points, units, self.rod, self.may_meet)
        yield from odd_rod_length(points, units, self.rod)


class OneWheelPoints(Points):
    """Points of one wheel with its own suspension and a tie rod."""

    tie_rod_inner: Point
    """center of the joint between rack and tie rod (at the rear: subframe and toe link)"""
    tie_rod_outer: Point
    """center of the joint between tie rod and steering arm, on its standard seat"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from off_side(points, units)
        yield from super()._misplaced(points, units)


class LowerArmPoints(OneWheelPoints):
    """Points of a layout with a lower arm that carries the lower ball joint."""

    lower_arm_front: Point
    """center of the lower arm's front bushing or joint at the chassis"""
    lower_arm_rear: Point
    """center of the lower arm's rear bushing or joint at the chassis"""
    lower_ball_joint: Point
    """center of the lower ball joint's ball"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        pivots = ("lower_arm_front", "lower_arm_rear")
        yield from no_arm(points, "lower_ball_joint", pivots, units)


class StrutPoints(LowerArmPoints):
    """Points of a strut suspension."""

    strut_top: Point
    """center of the strut's top mount"""
    strut_axis: Point
    """any second point on the damper rod's center line, far from the top mount"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        yield from not_above(points, "strut_top", "lower_ball_joint", units)
        yield from no_strut_line(points, units)
        yield from no_arm(points, "tie_rod_outer", ("lower_ball_joint", "strut_top"), units)


class DoubleWishbonePoints(LowerArmPoints):
    """Points of a double-wishbone suspension."""

    upper_arm_front: Point
    """center of the upper arm's front bushing or joint at the chassis"""
    upper_arm_rear: Point
    """center of the upper arm's rear bushing or joint at the chassis"""
    upper_ball_joint: Point
    """center of the upper ball joint's ball"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        yield from not_above(points, "upper_ball_joint", "lower_ball_joint", units)
        pivots = ("upper_arm_front", "upper_arm_rear")
        yield from no_arm(points, "upper_ball_joint", pivots, units)
        steering_axis = ("lower_ball_joint", "upper_ball_joint")
        yield from no_arm(points, "tie_rod_outer", steering_axis, units)


class LinkedPoints(OneWheelPoints):
    """Points of a layout whose upright hangs on two links or more, a ball joint at each end."""

    link_1_inner: Point
    """center of the first link's joint at the chassis"""
    link_1_outer: Point
    """center of the first link's joint at the upright"""
    link_2_inner: Point
    """center of the second link's joint at the chassis"""
    link_2_outer: Point
    """center of the second link's joint at the upright"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        yield from no_link(points, units)


class TwinLinkStrutPoints(LinkedPoints):
    """Points of a strut suspension with two separate lower links in the lower arm's place."""

    strut_top: Point
    """center of the strut's top mount"""
    strut_axis: Point
    """any second point on the damper rod's center line, far from the top mount"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        yield from not_above(points, "strut_top", "link_1_outer", units)
        yield from not_above(points, "strut_top", "link_2_outer", units)
        yield from no_strut_line(points, units)


class FiveLinkPoints(LinkedPoints):
    """Points of a five-link suspension: four links, and the tie rod or toe link as the fifth.

    The legs of an A-arm are two links with one outer joint.
    """

    may_meet: ClassVar[frozenset[frozenset[str]]] = frozenset(
        frozenset((f"link_{one}_outer", f"link_{other}_outer"))
        for one, other in combinations(range(1, 5), 2)
    )

    link_3_inner: Point
    """center of the third link's joint at the chassis"""
    link_3_outer: Point
    """center of the third link's joint at the upright"""
    link_4_inner: Point
    """center of the fourth link's joint at the chassis"""
    link_4_outer: Point
    """center of the fourth link's joint at the upright"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        yield from crowded_joint(points, units)


class AxlePoints(Points):
    """Points of a steered axle, measured at one wheel.

    The other wheel's kingpin, cross-rod end and wheel center are the mirror image.
    """

    rod: ClassVar[str] = "drag_link"

    kingpin_lower: Point
    """lower point of the kingpin's line, or the lower ball joint's center"""
    kingpin_upper: Point
    """upper point of the kingpin's line, or the upper ball joint's center"""
    cross_rod_end: Point
    """center of the joint between this wheel's knuckle and the rod across to the other one"""
    drag_link_inner: Point
    """center of the pitman ball, straight ahead"""
    drag_link_outer: Point
    """center of the joint between drag link and this wheel's knuckle, on its standard seat"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        wheel_side = {
            name: point
            for name, point in points.items()
            if not name.startswith("link_") and name != "drag_link_inner"
        }
        yield from off_side(wheel_side, units)
        yield from super()._misplaced(points, units)
        yield from not_above(points, "kingpin_upper", "kingpin_lower", units)
        kingpin = ("kingpin_lower", "kingpin_upper")
        yield from no_arm(points, "cross_rod_end", kingpin, units)
        yield from no_arm(points, "drag_link_outer", kingpin, units)


class AxleLinks(Points):
    """Four links that hold an axle; they may lie on either side of the car."""

    link_1_inner: Point
    """center of the first link's joint at the chassis"""
    link_1_outer: Point
    """center of the first link's joint at the axle"""
    link_2_inner: Point
    """center of the second link's joint at the chassis"""
    link_2_outer: Point
    """center of the second link's joint at the axle"""
    link_3_inner: Point
    """center of the third link's joint at the chassis"""
    link_3_outer: Point
    """center of the third link's joint at the axle"""
    link_4_inner: Point
    """center of the fourth link's joint at the chassis"""
    link_4_outer: Point
    """center of the fourth link's joint at the axle"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        yield from no_link(points, units)


class BeamAxlePoints(AxlePoints, AxleLinks):
    """Points of a beam axle on four links."""


class LeafAxlePoints(AxlePoints):
    """Points of an axle on two leaf springs; the other spring is the mirror image."""

    spring_eye: Point
    """center of the spring's eye at its fixed end, which turns on a pin in the frame"""
    spring_seat: Point
    """middle of the main leaf where the axle is clamped to the spring, at the center bolt"""
    shackle_spring: Point
    """center of the spring's other eye, where it hangs in the shackle"""
    shackle_frame: Point
    """center of the shackle's pin in the frame"""

    def _misplaced(self, points: dict[str, Triple], units: Units) -> Iterator[Fault]:
        yield from super()._misplaced(points, units)
        yield from no_leaf(points, units)


Layout = Literal[
    "strut", "double-wishbone", "twin-link-strut", "five-link", "beam-axle", "leaf-axle"
]
LayoutPoints = (
    StrutPoints
    | DoubleWishbonePoints
    | TwinLinkStrutPoints
    | FiveLinkPoints
    | BeamAxlePoints
    | LeafAxlePoints
)

POINTS_OF_LAYOUT: dict[Layout, type[LayoutPoints]] = {
    "strut": StrutPoints,
    "double-wishbone": DoubleWishbonePoints,
    "twin-link-strut": TwinLinkStrutPoints,
    "five-link": FiveLinkPoints,
    "beam-axle": BeamAxlePoints,
    "leaf-axle": LeafAxlePoints,
}
