"""Linkages against a published planar table, exact rotations, and computed corner anchors."""

import numpy as np
import pytest

from geometry.linkages import DoubleWishbone
from geometry.linkages.lower_arm import JointCircle
from geometry.motion import Motion, rod_motion
from geometry.wheel_angles import (
    camber_angle,
    caster_angle,
    iso_camber_angle,
    kingpin_inclination,
    toe_angle,
)

from .corners import Array, corner_points, linkage_of, rod_between
from .printed import half_last_digit, numbers, published

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
SQUARE_WHEEL = np.array([0.0, 1.0, 0.0])

PLANAR = published("planar_double_wishbone")
ANCHORS = published("corner_anchors")
ONE_AXIS = published("one_axis_rotation")


def assert_within(found, expected, allowed):
    assert (np.abs(found - expected) <= allowed).all(), f"off by {found - expected}"


def in_plane(y, z):
    """Points of a planar linkage; its pivot axes run along x."""
    return np.stack([np.zeros(np.shape(y)), y, z], axis=-1)


def planar_lower_joint(angle):
    length, pivot = float(PLANAR["linkage"]["lower_arm"]), PLANAR["linkage"]["lower_pivot"]
    return in_plane(pivot[0] + length * np.cos(angle), pivot[1] + length * np.sin(angle))


def planar_upper_arm_angle(upper_joint):
    """Angle of the upper arm (...), whole turns left open. [deg]"""
    from_pivot = upper_joint - in_plane(*map(float, PLANAR["linkage"]["upper_pivot"]))
    return np.degrees(np.arctan2(from_pivot[..., 2], from_pivot[..., 1]))


def without_turns(angle):
    return (angle + 180.0) % 360.0 - 180.0


def planar_table():
    """Lower arm angles (n,) [rad]; printed upper arm angles and tolerances (2, n), a row for each
    assembly. [deg]
    """
    rows = PLANAR["table"]["rows"]
    assemblies = [
        [b2, b1] if a >= PLANAR["table"]["swapped_from"] else [b1, b2] for a, b1, b2 in rows
    ]
    lower = np.radians([float(row[0]) for row in rows])
    # The bare 0 of the first row is the angle at which the linkage is defined.
    return lower, numbers(assemblies).T, half_last_digit(assemblies).T + ANGLE_ATOL_DEG


def planar_upright_top(lower_joint):
    """The upper joint of either assembly for lower joints (n, 3), the first one at angle 0."""
    pivot = in_plane(*map(float, PLANAR["linkage"]["upper_pivot"]))
    half_axis = np.array([1.0, 0.0, 0.0])
    arm, upright = (np.array(float(PLANAR["linkage"][name])) for name in ("upper_arm", "upright"))
    circle = JointCircle.of(pivot + half_axis, pivot - half_axis, pivot + in_plane(arm, 0.0))
    of_both = [circle.apart_from(lower_joint, upright, side) for side in (+1, -1)]
    meant = in_plane(13.0, 7.0)  # as the thread defines the linkage
    return sorted(of_both, key=lambda joint: np.linalg.norm(joint[0] - meant))


@pytest.mark.parametrize("assembly", [0, 1])
def test_both_assemblies_of_the_planar_double_wishbone_close_at_the_printed_angles(assembly):
    lower, printed, allowed = planar_table()
    found = planar_upper_arm_angle(planar_upright_top(planar_lower_joint(lower))[assembly])
    assert_within(without_turns(found - printed[assembly]), 0.0, allowed[assembly])


@pytest.mark.parametrize("assembly", [0, 1])
def test_a_double_wishbone_keeps_its_assembly_through_the_printed_swing(assembly):
    lower, printed, allowed = planar_table()
    lower_joint = planar_lower_joint(np.zeros(1))
    half_axis = np.array([1.0, 0.0, 0.0])
    lower_pivot = in_plane(*map(float, PLANAR["linkage"]["lower_pivot"]))
    upper_pivot = in_plane(*map(float, PLANAR["linkage"]["upper_pivot"]))
    linkage = DoubleWishbone(
        lower_arm_front=lower_pivot + half_axis,
        lower_arm_rear=lower_pivot - half_axis,
        lower_ball_joint=lower_joint[0],
        upper_arm_front=upper_pivot + half_axis,
        upper_arm_rear=upper_pivot - half_axis,
        upper_ball_joint=planar_upright_top(lower_joint)[assembly][0],
        wheel_center=in_plane(14.0, 3.0),
    )
    found = planar_upper_arm_angle(linkage.steering_axis(lower).upper)
    assert_within(without_turns(found - printed[assembly]), 0.0, allowed[assembly])


def anchored_motion(name: str) -> tuple[Motion, Array]:
    """Our motion of an anchor corner, and where the wheel center was measured."""
    points = corner_points(ANCHORS[name]["points"])
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    travel = numbers(ANCHORS[name]["rows"])[:, 0]
    linkage = linkage_of(ANCHORS[name]["layout"], points)
    return rod_motion(linkage, travel, rod), points["wheel_center"]


ANCHOR_COLUMNS = {
    "travel": lambda motion, center: (motion.moved(center) - center)[:, 2],
    "toe_deg": lambda motion, _: np.degrees(toe_angle(motion.rotation @ SQUARE_WHEEL)),
    "camber_projection_deg": lambda motion, _: np.degrees(
        iso_camber_angle(motion.rotation @ SQUARE_WHEEL)
    ),
    "inclination_deg": lambda motion, _: np.degrees(camber_angle(motion.rotation @ SQUARE_WHEEL)),
    "caster_deg": lambda motion, _: np.degrees(caster_angle(motion.steering_axis)),
    "kingpin_inclination_deg": lambda motion, _: np.degrees(
        kingpin_inclination(motion.steering_axis)
    ),
    "dx": lambda motion, center: (motion.moved(center) - center)[:, 0],
    "dy": lambda motion, center: (motion.moved(center) - center)[:, 1],
}


@pytest.mark.parametrize("column", ANCHORS["columns"])
@pytest.mark.parametrize("name", ["double_wishbone", "strut"])
def test_corner_moves_as_the_computed_anchor_says(name, column):
    printed = [row[ANCHORS["columns"].index(column)] for row in ANCHORS[name]["rows"]]
    found = ANCHOR_COLUMNS[column](*anchored_motion(name))
    allowed = half_last_digit(printed) + LENGTH_ATOL_MM
    assert_within(found, numbers(printed), allowed)


def test_toe_and_camber_stay_zero_when_upper_arm_and_rod_are_equal_parallel_copies():
    """An upright on equal parallel arms can only shift, along the circle of the lower joint."""
    front, rear = np.array([140.0, 390.0, 165.0]), np.array([-160.0, 410.0, 155.0])
    joint, upper_by = np.array([5.0, 730.0, 150.0]), np.array([-30.0, -25.0, 270.0])
    on_axis = 0.7 * rear + 0.3 * front
    outer = joint + np.array([-130.0, -20.0, 60.0])
    center = np.array([0.0, 760.0, 300.0])
    linkage = DoubleWishbone(
        front, rear, joint, front + upper_by, rear + upper_by, joint + upper_by, wheel_center=center
    )
    travel = np.linspace(-80.0, 80.0, 17)
    motion = rod_motion(linkage, travel, rod_between(outer - (joint - on_axis), outer))
    np.testing.assert_allclose(
        np.degrees(motion.rotation - np.eye(3)), 0.0, rtol=0, atol=ANGLE_ATOL_DEG
    )
    for pivot in (front, rear):
        length = np.linalg.norm(motion.moved(joint) - pivot, axis=-1)
        np.testing.assert_allclose(
            length, np.linalg.norm(joint - pivot), rtol=0, atol=LENGTH_ATOL_MM
        )


def one_axis_corner(first, second, center):
    """A double wishbone whose four pivots and rod end all lie on the line first-second."""

    def on_line(share):
        return first + share * (second - first)

    outer = np.array([-130.0, 705.0, 205.0])
    linkage = DoubleWishbone(
        lower_arm_front=on_line(0.9),
        lower_arm_rear=on_line(0.1),
        lower_ball_joint=np.array([5.0, 730.0, 150.0]),
        upper_arm_front=on_line(0.8),
        upper_arm_rear=on_line(0.3),
        upper_ball_joint=np.array([-15.0, 690.0, 440.0]),
        wheel_center=center,
    )
    return linkage, rod_between(on_line(-0.2), outer)


def test_a_trailing_arm_changes_caster_by_its_swing_and_neither_toe_nor_camber():
    radius = 300.0  # from the pivot line to the wheel center, level as measured
    linkage, rod = one_axis_corner(
        np.array([radius, 250.0, 280.0]),
        np.array([radius, 450.0, 280.0]),
        np.array([0.0, 760.0, 280.0]),
    )
    travel = np.linspace(-80.0, 80.0, 17)
    motion = rod_motion(linkage, travel, rod)
    spin = motion.rotation @ SQUARE_WHEEL
    np.testing.assert_allclose(np.degrees(toe_angle(spin)), 0.0, rtol=0, atol=ANGLE_ATOL_DEG)
    np.testing.assert_allclose(np.degrees(camber_angle(spin)), 0.0, rtol=0, atol=ANGLE_ATOL_DEG)
    # The pivot is ahead of the wheel: in bump the upright tips forward by the swing of the arm.
    measured = caster_angle(linkage.upper_ball_joint - linkage.lower_ball_joint)
    np.testing.assert_allclose(
        np.degrees(caster_angle(motion.steering_axis)),
        np.degrees(measured - np.arcsin(travel / radius)),
        rtol=0,
        atol=ANGLE_ATOL_DEG,
    )


def arm_swing(rotation, axis):
    """Angle of rotations about a known axis, (n, 3, 3) to (n,). [rad]"""
    twice_sine = np.stack(
        [
            rotation[:, 2, 1] - rotation[:, 1, 2],
            rotation[:, 0, 2] - rotation[:, 2, 0],
            rotation[:, 1, 0] - rotation[:, 0, 1],
        ],
        axis=-1,
    )
    return np.arctan2(twice_sine @ axis, np.trace(rotation, axis1=1, axis2=2) - 1.0)


def test_a_corner_hinged_on_one_slanted_line_turns_about_that_line():
    first, second = numbers(ONE_AXIS["axis"]["first"]), numbers(ONE_AXIS["axis"]["second"])
    center = numbers(ONE_AXIS["wheel"]["center"])
    linkage, rod = one_axis_corner(first, second, center)
    rows = ONE_AXIS["table"]["rows"]
    motion = rod_motion(linkage, numbers(rows)[:, 0], rod)
    shift = motion.moved(center) - center
    spin = motion.rotation @ SQUARE_WHEEL
    axis = (second - first) / np.linalg.norm(second - first)
    found = np.stack(
        [
            shift[:, 2],
            np.degrees(arm_swing(motion.rotation, axis)),
            np.degrees(toe_angle(spin)),
            np.degrees(iso_camber_angle(spin)),
            shift[:, 0],
            shift[:, 1],
        ],
        axis=-1,
    )
    assert_within(found, numbers(rows), half_last_digit(rows) + LENGTH_ATOL_MM)
