"""The virtual steering axis: the straight line about which links let an upright turn."""

import numpy as np
import pytest

from geometry.linkages import LinkSet
from geometry.motion import Reach, Rod, rod_motion
from geometry.vectors import rotation_about
from geometry.virtual_axis import measured_axis

from .corners import corner_points, link_set_of, linkage_of, rod_between
from .link_cars import FIVE_LINK, LINK_CARS, TWIN_LINK_STRUT
from .printed import published

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

ANCHORS = published("corner_anchors")
ARMED = ["double_wishbone", "strut"]
TRAVEL = np.linspace(-80.0, 80.0, 17)
LEFT = np.array([0.0, 1.0, 0.0])
CARS = pytest.mark.parametrize("car", LINK_CARS)


def distance_of_lines(first, along_first, second, along_second):
    normal = np.cross(along_first, along_second)
    return abs((second - first) @ normal) / np.linalg.norm(normal)


@pytest.mark.parametrize("steered", [0.0, 30.0, -30.0])
@pytest.mark.parametrize("drop", [0.0, 30.0])
@pytest.mark.parametrize("name", ARMED)
def test_links_that_meet_in_ball_joints_steer_about_the_line_through_them(name, drop, steered):
    points = corner_points(ANCHORS[name]["points"])
    linkage = linkage_of(ANCHORS[name]["layout"], points, drop)
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    moved = Rod(rod.inner + steered * LEFT, rod.outer, rod.length)
    by_joints = rod_motion(linkage, TRAVEL, moved).steering_axis
    by_links = rod_motion(linkage.link_set(), TRAVEL, moved).steering_axis
    np.testing.assert_allclose(
        np.degrees(by_links), np.degrees(by_joints), rtol=0, atol=ANGLE_ATOL_DEG
    )


@CARS
def test_the_virtual_axis_meets_the_line_of_every_link_and_stands_upright(car):
    points = LINK_CARS[car][1]
    axis = measured_axis(link_set_of(points))
    direction = axis.upper - axis.lower
    assert direction[2] > 0.8 * np.linalg.norm(direction)
    for number in range(1, 5 if "link_4_inner" in points else 3):
        inner, outer = points[f"link_{number}_inner"], points[f"link_{number}_outer"]
        apart = distance_of_lines(axis.lower, direction, inner, outer - inner)
        assert apart == pytest.approx(0.0, abs=LENGTH_ATOL_MM)


def test_the_virtual_axis_of_a_twin_link_strut_lies_in_both_planes_of_top_mount_and_link():
    points = TWIN_LINK_STRUT
    normals = [
        np.cross(
            points[f"link_{number}_inner"] - points["strut_top"],
            points[f"link_{number}_outer"] - points["strut_top"],
        )
        for number in (1, 2)
    ]
    wanted = np.cross(*normals)
    axis = measured_axis(link_set_of(points))
    direction = axis.upper - axis.lower
    np.testing.assert_allclose(
        direction / np.linalg.norm(direction),
        wanted / np.linalg.norm(wanted) * np.sign(wanted[2]),
        rtol=0,
        atol=np.radians(ANGLE_ATOL_DEG),
    )


@CARS
def test_a_small_turn_about_the_virtual_axis_leaves_every_link_its_length(car):
    """To first order: a tenth of the turn costs a hundredth of the length."""
    points = LINK_CARS[car][1]
    links = link_set_of(points)
    axis = measured_axis(links)
    direction = (axis.upper - axis.lower) / np.linalg.norm(axis.upper - axis.lower)

    def strain(angle):
        turned = (links.upright_ends - axis.lower) @ rotation_about(direction, np.array(angle)).T
        length = np.linalg.norm(turned + axis.lower - links.chassis_ends, axis=-1)
        return np.abs(length - links.lengths)

    assert (strain(1e-4) <= 1e-2 * strain(1e-3) + strain(1e-3) * 1e-3 + LENGTH_ATOL_MM).all()
    assert strain(1e-3).max() < 1e-3


@CARS
def test_the_motion_reports_the_measured_axis_at_the_measured_pose(car):
    points = LINK_CARS[car][1]
    links = link_set_of(points)
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    axis = measured_axis(links)
    direction = (axis.upper - axis.lower) / np.linalg.norm(axis.upper - axis.lower)
    np.testing.assert_allclose(
        rod_motion(links, np.zeros(()), rod).steering_axis, direction, rtol=0, atol=1e-12
    )


def test_the_axis_does_not_depend_on_the_tie_rod():
    links, travel = link_set_of(FIVE_LINK), np.zeros(1)
    outer = FIVE_LINK["tie_rod_outer"]
    axes = [
        rod_motion(links, travel, rod_between(FIVE_LINK["tie_rod_inner"] + move, outer))
        for move in ([0.0, 0.0, 0.0], [0.0, 25.0, 90.0])
    ]
    np.testing.assert_allclose(axes[0].steering_axis, axes[1].steering_axis, rtol=0, atol=1e-12)


def test_measured_axis_of_a_linkage_with_ball_joints_runs_through_them():
    points = corner_points(ANCHORS["double_wishbone"]["points"])
    axis = measured_axis(linkage_of("double-wishbone", points))
    for end, joint in ((axis.upper, "upper_ball_joint"), (axis.lower, "lower_ball_joint")):
        np.testing.assert_allclose(end, points[joint], rtol=0, atol=LENGTH_ATOL_MM)


def test_links_that_no_straight_line_meets_have_poses_but_no_axis():
    """Three rulings of a hyperboloid about the axle, and a fourth link along its axis.

    What meets the three lies in the hyperboloid's surface, which never comes to its axis.
    """
    center = np.array([0.0, 760.0, 300.0])
    angles = np.radians([20.0, 140.0, 260.0])
    around = np.stack([np.cos(angles), np.zeros(3), np.sin(angles)], axis=-1)
    along = np.stack([-np.sin(angles), np.full(3, -2.0), np.cos(angles)], axis=-1)
    outer = np.concatenate([center + 120.0 * around, center[None]])
    inner = outer + 150.0 * np.concatenate([along, [[0.0, -2.0, 0.0]]])
    links = LinkSet(inner, outer, np.linalg.norm(outer - inner, axis=-1), center)
    rod = rod_between(np.array([-150.0, 430.0, 330.0]), np.array([-140.0, 740.0, 200.0]))
    motion = rod_motion(links, np.array(5.0), rod)
    assert motion.reach == Reach.REACHED
    assert np.isfinite(motion.rotation).all()
    assert np.isnan(motion.steering_axis).all()
