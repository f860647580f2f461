"""Uprights on links, by Newton: anchors, what is kept, and where and why the motion ends."""

import numpy as np
import pytest

from geometry.linkages import LinkSet
from geometry.motion import Motion, Reach, Rod, rod_motion, toe_held_motion
from geometry.toe_held import rod_length_needed, toe_error, toe_held_poses
from geometry.wheel_angles import camber_angle, spin_axis, toe_angle

from .corners import corner_points, link_set_of, rod_between
from .link_cars import LINK_CARS
from .pose_by_pose import rotations
from .printed import half_last_digit, numbers, published

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
TOE_ERROR_ATOL_DEG = 1e-10  # two ways to one pose that share their residual

ANCHORS = published("corner_anchors")
ONE_AXIS = published("one_axis_rotation")
SQUARE_WHEEL = np.array([0.0, 1.0, 0.0])
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL = np.linspace(-80.0, 80.0, 33)
FAR = np.arange(-600.0, 601.0, 10.0)
LEFT = np.array([0.0, 1.0, 0.0])
CARS = pytest.mark.parametrize("car", LINK_CARS)


def links_of(car) -> LinkSet:
    return link_set_of(LINK_CARS[car][1])


def rod_of(car, longer_by=0.0, rack_travel=0.0) -> Rod:
    points = LINK_CARS[car][1]
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"], longer_by)
    return Rod(rod.inner + rack_travel * LEFT, rod.outer, rod.length)


def followed(car, travel, longer_by=0.0) -> Motion:
    return rod_motion(links_of(car), travel, rod_of(car, longer_by))


def held(car, travel, longer_by=0.0) -> Motion:
    return toe_held_motion(links_of(car), travel, SPIN, np.full(np.shape(travel), 0.002))


MOTIONS = pytest.mark.parametrize("motion_of", [followed, held], ids=["on the rod", "toe held"])


# ---- what it must give ----


def test_the_five_link_corner_moves_as_the_computed_anchor_says():
    anchor = ANCHORS["five_link"]
    points = corner_points(anchor["points"])
    rows = numbers(anchor["rows"])
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    motion = rod_motion(link_set_of(points), rows[:, 0], rod)
    spin = motion.rotation @ SQUARE_WHEEL
    shift = motion.moved(points["wheel_center"]) - points["wheel_center"]
    found = np.stack(
        [
            shift[:, 2],
            np.degrees(toe_angle(spin)),
            np.degrees(np.arctan2(-spin[:, 2], spin[:, 1])),
            np.degrees(camber_angle(spin)),
            shift[:, 0],
            shift[:, 1],
        ],
        axis=-1,
    )
    allowed = half_last_digit(anchor["rows"]) + LENGTH_ATOL_MM
    assert (np.abs(found - rows) <= allowed).all(), f"off by {found - rows}"


def test_five_links_to_one_slanted_line_turn_the_upright_about_that_line():
    first, second = numbers(ONE_AXIS["axis"]["first"]), numbers(ONE_AXIS["axis"]["second"])
    center = numbers(ONE_AXIS["wheel"]["center"])
    shares = np.array([0.9, 0.1, 0.8, 0.3, -0.2])[:, None]
    inner = first + shares * (second - first)
    outer = numbers(
        [[25, 725, 160], [-20, 730, 150], [15, 690, 440], [-35, 695, 430], [-130, 705, 205]]
    )
    links = LinkSet(inner[:4], outer[:4], np.linalg.norm((outer - inner)[:4], axis=-1), center)
    rows = ONE_AXIS["table"]["rows"]
    motion = rod_motion(links, numbers(rows)[:, 0], rod_between(inner[4], outer[4]))
    spin = motion.rotation @ SQUARE_WHEEL
    shift = motion.moved(center) - center
    axis = (second - first) / np.linalg.norm(second - first)
    np.testing.assert_allclose(motion.rotation @ axis, np.tile(axis, (4, 1)), rtol=0, atol=1e-12)
    across = np.cross(axis, SQUARE_WHEEL)
    turned = motion.rotation @ across
    found = np.stack(
        [
            shift[:, 2],
            np.degrees(np.arctan2(np.cross(across, turned) @ axis, turned @ across)),
            np.degrees(toe_angle(spin)),
            np.degrees(np.arctan2(-spin[:, 2], spin[:, 1])),
            shift[:, 0],
            shift[:, 1],
        ],
        axis=-1,
    )
    allowed = half_last_digit(rows) + LENGTH_ATOL_MM
    assert (np.abs(found - numbers(rows)) <= allowed).all(), f"off by {found - numbers(rows)}"


@pytest.mark.parametrize("rack_travel", [0.0, 30.0, -30.0])
@CARS
def test_a_root_finder_going_pose_by_pose_comes_to_the_same_poses(car, rack_travel):
    points = LINK_CARS[car][1]
    rod = rod_of(car, rack_travel=rack_travel)
    bare = (rod.inner, rod.outer, float(rod.length))
    motion = rod_motion(links_of(car), TRAVEL, rod)
    for way in (TRAVEL >= 0.0, TRAVEL <= 0.0):
        rows = np.flatnonzero(way)[np.argsort(np.abs(TRAVEL[way]))]
        np.testing.assert_allclose(
            np.degrees(motion.rotation[rows]),
            np.degrees(rotations(points, bare, TRAVEL[rows])),
            rtol=0,
            atol=ANGLE_ATOL_DEG,
        )


# ---- what is kept ----


@MOTIONS
@CARS
def test_links_keep_their_lengths_and_the_wheel_center_rises_as_wanted(car, motion_of):
    links, motion = links_of(car), motion_of(car, TRAVEL)
    assert (motion.reach == Reach.REACHED).all()
    ends = motion.rotation @ links.upright_ends.T + motion.translation[..., None]
    lengths = np.linalg.norm(np.swapaxes(ends, -1, -2) - links.chassis_ends, axis=-1)
    np.testing.assert_allclose(
        lengths, np.tile(links.lengths, (TRAVEL.size, 1)), rtol=0, atol=LENGTH_ATOL_MM
    )
    rise = motion.moved(links.wheel_center)[:, 2] - links.wheel_center[2]
    np.testing.assert_allclose(rise, TRAVEL, rtol=0, atol=LENGTH_ATOL_MM)


@MOTIONS
@pytest.mark.parametrize("car", [car for car in LINK_CARS if "strut" in car])
def test_the_top_mount_stays_on_the_damper_rod_line(car, motion_of):
    points, motion = LINK_CARS[car][1], motion_of(car, TRAVEL)
    second = motion.moved(points["strut_axis"])
    line = motion.moved(points["strut_top"]) - second
    aside = np.cross(line, points["strut_top"] - second) / np.linalg.norm(line, axis=-1)[:, None]
    np.testing.assert_allclose(aside, 0.0, rtol=0, atol=LENGTH_ATOL_MM)


@CARS
def test_the_tie_rod_keeps_its_length(car):
    rod, motion = rod_of(car, 1.7), followed(car, TRAVEL, 1.7)
    length = np.linalg.norm(motion.moved(rod.outer) - rod.inner, axis=-1)
    np.testing.assert_allclose(length, float(rod.length), rtol=0, atol=LENGTH_ATOL_MM)


# ---- the toe-held method on the same layouts ----


@CARS
def test_the_toe_held_method_gives_the_exact_toe_of_every_pair(car):
    points, travel, home = LINK_CARS[car][1], np.linspace(-60.0, 60.0, 25), 12
    toe = np.radians(0.1) + 1e-5 * travel
    poses = toe_held_poses(links_of(car), travel, SPIN, toe, home)
    drop = np.linspace(-10.0, 20.0, 7)[:, None] * np.array([0.0, 0.0, -1.0])
    outer, inner = points["tie_rod_outer"] + drop, points["tie_rod_inner"] + 0.2 * drop
    found = toe_error(poses, outer, inner)
    length = rod_length_needed(poses, outer, inner)[:, home]
    motion = rod_motion(
        links_of(car), travel, Rod(inner[:, None, :], outer[:, None, :], length[:, None])
    )
    exact = toe_angle(motion.rotation @ SPIN) - toe
    np.testing.assert_allclose(
        np.degrees(found), np.degrees(exact), rtol=0, atol=TOE_ERROR_ATOL_DEG
    )


# ---- where the motion ends ----


@CARS
def test_the_links_are_blamed_at_heights_that_no_rod_reaches(car):
    heights = np.array([-900.0, 900.0])
    lengths = np.linalg.norm(rod_of(car).outer - rod_of(car).inner) + np.linspace(-60, 60, 5)
    rod = Rod(rod_of(car).inner, rod_of(car).outer, lengths[:, None])
    assert (rod_motion(links_of(car), heights, rod).reach == Reach.ARMS_END).all()
    assert (held(car, heights).reach == Reach.ARMS_END).all()


def test_five_equal_parallel_links_settle_no_height_and_raise_nothing():
    """They hold the upright no firmer than three do: the equations have no single answer."""
    outer = numbers(
        [[25, 725, 160], [-20, 730, 150], [15, 690, 440], [-35, 695, 430], [-130, 705, 205]]
    )
    inner = outer - np.array([0.0, 350.0, 0.0])
    center = np.array([0.0, 760.0, 300.0])
    links = LinkSet(inner[:4], outer[:4], np.full(4, 350.0), center)
    motion = rod_motion(links, np.array([-10.0, 0.0, 10.0]), rod_between(inner[4], outer[4]))
    assert motion.reach[1] == Reach.REACHED
    assert (motion.reach[[0, 2]] != Reach.REACHED).all()
    assert np.isnan(motion.rotation[[0, 2]]).all()
