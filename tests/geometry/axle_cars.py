"""Invented beam axles, in millimeters: x forward, y left, z up."""

import numpy as np

from geometry.axle_motion import AxleMotion, axle_motion
from geometry.linkages import Axle, BeamAxle, LeafAxle
from geometry.poses import Motion, Rod
from geometry.wheel_angles import toe_angle

from .corners import Array, corner_points, rod_between

MIRROR = np.array([1.0, -1.0, 1.0])
MIDDLE = np.array([1.0, 0.0, 1.0])
LEFT = np.array([0.0, 1.0, 0.0])

AXLE_CARS: dict[str, dict[str, Array]] = {
    "leading links behind, cross rod behind, drag link ahead": corner_points(
        {
            "link_1_inner": [60, -430, 432],
            "link_1_outer": [52, 418, 371],
            "link_2_inner": [-905, 405, 402],
            "link_2_outer": [-62, 452, 318],
            "link_3_inner": [-905, -405, 402],
            "link_3_outer": [-62, -452, 318],
            "link_4_inner": [-712, -262, 561],
            "link_4_outer": [-18, -251, 472],
            "kingpin_lower": [9, 702, 281],
            "kingpin_upper": [-12, 676, 442],
            "cross_rod_end": [-162, 642, 322],
            "drag_link_inner": [148, -342, 471],
            "drag_link_outer": [151, 618, 398],
            "wheel_center": [0, 803, 364],
        }
    ),
    "trailing links ahead, cross rod ahead, drag link behind": corner_points(
        {
            "link_1_inner": [-118, 452, 402],
            "link_1_outer": [-126, -398, 417],
            "link_2_inner": [702, 381, 351],
            "link_2_outer": [51, 401, 296],
            "link_3_inner": [688, -377, 343],
            "link_3_outer": [48, -408, 301],
            "link_4_inner": [521, 212, 560],
            "link_4_outer": [12, 198, 519],
            "kingpin_lower": [21, 662, 262],
            "kingpin_upper": [2, 641, 431],
            "cross_rod_end": [172, 676, 291],
            "drag_link_inner": [-141, -298, 352],
            "drag_link_outer": [-132, 601, 411],
            "wheel_center": [6, 752, 341],
        }
    ),
    "leaf springs with the eye ahead, drag link ahead and across": corner_points(
        {
            "spring_eye": [612, 398, 506],
            "spring_seat": [-8, 412, 438],
            "shackle_spring": [-688, 402, 521],
            "shackle_frame": [-651, 402, 612],
            "kingpin_lower": [9, 702, 281],
            "kingpin_upper": [-12, 676, 442],
            "cross_rod_end": [-162, 642, 322],
            "drag_link_inner": [148, -342, 471],
            "drag_link_outer": [151, 618, 398],
            "wheel_center": [0, 803, 364],
        }
    ),
    "leaf springs with the shackle ahead, drag link behind and along the car": corner_points(
        {
            "spring_eye": [-571, 431, 487],
            "spring_seat": [12, 429, 421],
            "shackle_spring": [498, 433, 509],
            "shackle_frame": [462, 428, 600],
            "kingpin_lower": [21, 662, 262],
            "kingpin_upper": [2, 641, 431],
            "cross_rod_end": [172, 676, 291],
            "drag_link_inner": [-791, 551, 502],
            "drag_link_outer": [22, 528, 451],
            "wheel_center": [6, 752, 341],
        }
    ),
}
LEAF_CARS = [name for name, points in AXLE_CARS.items() if "spring_eye" in points]


def axle_of(points: dict[str, Array], roll_about: Array | float | None = None) -> Axle:
    """Everything but the drag link."""
    carried = {name: point for name, point in points.items() if not name.startswith("drag_link")}
    about = None if roll_about is None else np.asarray(roll_about)
    if "spring_eye" in points:
        return LeafAxle(roll_about=about, **carried)
    return BeamAxle.of(roll_about=about, **carried)


def drag_link(points: dict[str, Array], longer_by: float = 0.0) -> Rod:
    return rod_between(points["drag_link_inner"], points["drag_link_outer"], longer_by)


def followed(
    car: str, travel: Array, longer_by: float = 0.0, about: float | None = None
) -> AxleMotion:
    """Motion of an axle on its own drag link, perhaps screwed longer."""
    points = AXLE_CARS[car]
    return axle_motion(axle_of(points, about), travel, drag_link(points, longer_by))


def toe_deg(motion: Motion, spin: Array = LEFT, mirror: Array | float = 1.0) -> Array:
    """Toe of the left wheel, or of the right one if `mirror` says so, from the left spin axis."""
    return np.degrees(toe_angle((motion.rotation @ (spin * mirror)) * mirror))
