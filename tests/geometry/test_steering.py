"""What a pivot pair costs in steering, against the exact motion and planar trigonometry."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from geometry.linkages import DoubleWishbone
from geometry.motion import rod_motion
from geometry.steering import steer_rate, turn_toe_out
from geometry.toe_held import toe_held_poses
from geometry.vectors import norm, turned
from geometry.wheel_angles import spin_axis, toe_angle

from .corners import corner_points, linkage_of, rod_between

RACK_AXIS = np.array([0.0, 1.0, 0.0])
RATE_ATOL = 1e-9  # rad/mm; about 0.0001 % of a car's steer rate
ANGLE_ATOL_DEG = 1e-9

STRUT = {
    "lower_arm_front": [160.0, 365.0, 205.0],
    "lower_arm_rear": [-190.0, 350.0, 212.0],
    "lower_ball_joint": [0.0, 735.0, 190.0],
    "strut_top": [-38.0, 575.0, 830.0],
    "strut_axis": [-5.0, 640.0, 400.0],
    "wheel_center": [4.0, 770.0, 318.0],
}
WISHBONE = {
    "lower_arm_front": [140.0, 390.0, 165.0],
    "lower_arm_rear": [-160.0, 410.0, 155.0],
    "lower_ball_joint": [5.0, 730.0, 150.0],
    "upper_arm_front": [110.0, 450.0, 420.0],
    "upper_arm_rear": [-130.0, 460.0, 410.0],
    "upper_ball_joint": [-15.0, 690.0, 440.0],
    "wheel_center": [0.0, 760.0, 290.0],
}
CORNERS = {"strut": STRUT, "double-wishbone": WISHBONE}
SPIN = spin_axis(np.radians(0.2), np.radians(-1.2))


def steered_toe(linkage, height, outer, inner, travel):
    """Toe with the rack moved, the rod set to the static toe with the rack straight ahead."""
    rod = rod_between(inner, outer)
    moved = rod_motion(
        linkage,
        np.full(travel.shape, height),
        type(rod)(inner + travel[:, None] * RACK_AXIS, outer, rod.length),
    )
    return toe_angle(turned(moved.rotation, SPIN))


@pytest.mark.parametrize("layout", CORNERS)
@pytest.mark.parametrize(
    ("outer", "inner"),
    [
        ([-128.0, 700.0, 262.0], [-118.0, 330.0, 268.0]),
        ([-128.0, 712.0, 240.0], [-110.0, 340.0, 270.0]),
        ([120.0, 690.0, 230.0], [112.0, 350.0, 240.0]),
    ],
    ids=["behind the axle", "a custom pivot behind it", "ahead of the axle"],
)
def test_the_steer_rate_is_the_slope_of_toe_over_rack_travel(layout, outer, inner):
    linkage = linkage_of(layout, corner_points(CORNERS[layout]))
    outer, inner = np.array(outer), np.array(inner)
    travel = np.array([-20.0, 0.0, 20.0])
    toe_held = np.full(3, float(toe_angle(SPIN)))
    poses = toe_held_poses(linkage, travel, SPIN, toe_held, home=1)
    step = np.array([-0.2, -0.1, 0.1, 0.2])
    toe = steered_toe(linkage, 0.0, outer, inner, step)
    slope = (8.0 * (toe[2] - toe[1]) - (toe[3] - toe[0])) / (12.0 * 0.1)  # fourth-order difference
    rate = steer_rate(poses, outer, inner, RACK_AXIS)
    assert rate.shape == (1,)
    assert rate[0] == pytest.approx(slope, abs=RATE_ATOL)
    assert (rate[0] > 0.0) == (outer[0] < 0.0)  # rack to the left: toe-in with the arm behind


def upright_kingpin() -> DoubleWishbone:
    """A car whose kingpin stands upright."""
    return DoubleWishbone(
        lower_arm_front=np.array([150.0, 300.0, 150.0]),
        lower_arm_rear=np.array([-150.0, 300.0, 150.0]),
        lower_ball_joint=np.array([0.0, 700.0, 150.0]),
        upper_arm_front=np.array([150.0, 300.0, 450.0]),
        upper_arm_rear=np.array([-150.0, 300.0, 450.0]),
        upper_ball_joint=np.array([0.0, 700.0, 450.0]),
        wheel_center=np.array([0.0, 700.0, 300.0]),
    )


@pytest.mark.parametrize("arm", [80.0, 120.0])
def test_a_rod_square_to_its_arm_steers_one_radian_per_arm_length(arm):
    # The wheel center is on the kingpin here, so steering neither lifts it nor moves it.
    linkage = upright_kingpin()
    spin = np.array([0.0, 1.0, 0.0])
    poses = toe_held_poses(linkage, np.array([-10.0, 0.0, 10.0]), spin, np.zeros(3), home=1)
    outer, inner = np.array([-arm, 700.0, 250.0]), np.array([-arm, 330.0, 250.0])
    assert steer_rate(poses, outer, inner, RACK_AXIS)[0] == pytest.approx(1.0 / arm, abs=1e-12)


def planar_toe(arm: float, offset: float, rod: float, travel: float) -> float:
    """Toe of that car from a triangle in plan view; the inner pivot `offset` behind the outer."""

    def miss(toe: float) -> float:
        outer = (-arm * math.cos(toe), arm * math.sin(toe))
        inner = (-arm - offset, -math.sqrt(rod**2 - offset**2) + travel)
        return math.dist(outer, inner) - rod

    return brentq(miss, -0.9, 0.9, xtol=1e-15)


@pytest.mark.parametrize("offset", [-25.0, 0.0, 25.0])
def test_turn_toe_out_is_that_of_two_triangles_in_plan_view(offset):
    arm, travel = 110.0, 40.0
    linkage, spin = upright_kingpin(), np.array([0.0, 1.0, 0.0])
    outer = np.array([-arm, 700.0, 250.0])
    inner = outer - np.array([offset, 370.0, 0.0])
    rod = rod_between(inner, outer)
    steered = np.array([0.0, travel, -travel])
    motion = rod_motion(
        linkage, np.zeros(3), type(rod)(inner + steered[:, None] * RACK_AXIS, outer, rod.length)
    )
    toe = toe_angle(turned(motion.rotation, spin))
    planar = [planar_toe(arm, offset, float(norm(outer - inner)), x) for x in steered]
    # In a turn one wheel moves its rod by +travel, the mirrored other one by -travel.
    inner_wheel, outer_wheel = sorted((abs(planar[1]), abs(planar[2])), reverse=True)
    wheel_toe_out = np.degrees(turn_toe_out(toe[0], toe[1], toe[2]))
    difference = np.degrees(-planar[1] - planar[2])
    assert wheel_toe_out == pytest.approx(difference, abs=ANGLE_ATOL_DEG)
    assert abs(wheel_toe_out) == pytest.approx(
        np.degrees(inner_wheel - outer_wheel), abs=ANGLE_ATOL_DEG
    )


def test_an_inner_pivot_behind_the_outer_one_toes_the_wheels_out_in_a_turn():
    # Arms behind the axle; a planar four-bar with the rod swept back on its way inboard.
    swept_back, swept_forward = (
        -planar_toe(110.0, offset, 371.0, 40.0) - planar_toe(110.0, offset, 371.0, -40.0)
        for offset in (25.0, -25.0)
    )
    assert swept_back > 0.0 > swept_forward


def test_static_toe_takes_no_part_in_turn_toe_out():
    assert turn_toe_out(np.array(0.01), np.array(0.21), np.array(-0.24)) == pytest.approx(
        turn_toe_out(np.array(0.0), np.array(0.20), np.array(-0.25)), abs=1e-15
    )


def test_turn_toe_out_is_not_known_where_a_wheel_cannot_follow():
    assert np.isnan(turn_toe_out(np.array(0.0), np.array(np.nan), np.array(-0.2)))
