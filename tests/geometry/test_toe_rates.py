"""How an upright goes along with toe, against poses solved a little to both sides."""

import numpy as np
import pytest

from geometry.motion import toe_held_motion
from geometry.toe_rates import toe_held_upright
from geometry.vectors import cross, turned
from geometry.wheel_angles import spin_axis

from .axle_cars import AXLE_CARS, axle_of
from .corners import corner_points, link_set_of, linkage_of
from .link_cars import LINK_CARS
from .printed import published

ANCHORS = published("corner_anchors")
LINKAGES = {
    name: linkage_of(ANCHORS[name]["layout"], corner_points(ANCHORS[name]["points"]))
    for name in ("strut", "double_wishbone")
}
LINKAGES |= {name: link_set_of(points) for name, (_, points) in LINK_CARS.items()}
LINKAGES |= {name: axle_of(points) for name, points in AXLE_CARS.items()}
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL, TOE = np.array([-50.0, 0.0, 35.0]), np.array([0.01, -0.02, 0.0])
NEAR = 1e-4  # [rad]
# What is left out goes with its square; rounding of poses, 1e-10 mm, over twice of it is less.
RTOL = 1e-5


@pytest.mark.parametrize("name", LINKAGES)
def test_the_rates_are_those_of_poses_a_little_to_both_sides(name):
    linkage = LINKAGES[name]
    held = toe_held_upright(linkage, TRAVEL, SPIN, TOE)
    at, less, more = (toe_held_motion(linkage, TRAVEL, SPIN, TOE + by) for by in (0.0, -NEAR, NEAR))
    np.testing.assert_allclose(held.rotation, at.rotation, rtol=0, atol=1e-12)
    np.testing.assert_allclose(held.center, at.moved(linkage.wheel_center), rtol=0, atol=1e-9)
    moved = (more.moved(linkage.wheel_center) - less.moved(linkage.wheel_center)) / (2.0 * NEAR)
    np.testing.assert_allclose(held.move, moved, rtol=RTOL, atol=RTOL * np.abs(moved).max())
    for arm in np.eye(3):
        turning = turned(more.rotation - less.rotation, arm) / (2.0 * NEAR)
        np.testing.assert_allclose(
            cross(held.turn, turned(at.rotation, arm)), turning, rtol=RTOL, atol=RTOL
        )


@pytest.mark.parametrize("name", LINKAGES)
def test_beyond_reach_there_is_neither_pose_nor_rate(name):
    held = toe_held_upright(LINKAGES[name], np.array([900.0]), SPIN, np.zeros(1))
    for part in (held.rotation, held.center, held.turn, held.move):
        assert np.isnan(part).all()
