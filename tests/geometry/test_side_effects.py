"""Offsets at the ground, instant center, roll center, turn and roll: hand cases and constructions.

Every planar corner lies in the plane x = 0, its arms turn about lines along x, and its toe is held.
"""

import numpy as np
import pytest

from geometry.linkages import DoubleWishbone, Strut
from geometry.motion import Rod, rod_motion, toe_held_motion
from geometry.side_effects import (
    RATE_TRAVEL,
    ackermann_angle,
    axis_point,
    front_view_angle,
    ground_offsets,
    instant_center,
    roll_center_height,
    roll_steer_gradient,
    travel_rate,
)
from geometry.steering import turn_toe_out
from geometry.vectors import unit
from geometry.wheel_angles import camber_angle, contact_point, spin_axis

from .corners import corner_points, link_set_of, linkage_of, rod_between
from .link_cars import LINK_CARS

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
# Differences over millimeters of poses that are solved to 1e-10 mm, times levers of meters.
RATE_CENTER_ATOL_MM = 1e-5

STRAIGHT = np.array([0.0, 1.0, 0.0])
RADIUS = 300.0


def arm(inner, outer):
    """Front and rear pivot of an arm that turns about a line along x, and its joint."""
    inner_y, inner_z = inner
    return (
        np.array([150.0, inner_y, inner_z]),
        np.array([-150.0, inner_y, inner_z]),
        np.array([0.0, *outer]),
    )


def line_crossing(a, b, c, d):
    """Where the line through a and b meets the line through c and d, in a plane."""
    a, b, c, d = (np.array(p, dtype=float) for p in (a, b, c, d))
    shares = np.linalg.solve(np.stack([b - a, c - d], axis=1), c - a)
    return a + shares[0] * (b - a)


LOWER = ((380.0, 170.0), (730.0, 150.0))
UPPER = ((460.0, 390.0), (690.0, 420.0))


def planar_wishbone(lower=LOWER, upper=UPPER):
    return DoubleWishbone(*arm(*lower), *arm(*upper), wheel_center=np.array([0.0, 760.0, RADIUS]))


def near_ride_height(linkage, toe=0.0):
    """Motion, wheel center and contact point at the heights of a rate, toe held."""
    motion = toe_held_motion(linkage, RATE_TRAVEL, STRAIGHT, np.full(RATE_TRAVEL.shape, toe))
    center = motion.moved(linkage.wheel_center)
    spin = motion.rotation @ STRAIGHT
    return motion, center, contact_point(center, spin, RADIUS)


# --- offsets at the ground


def test_a_vertical_steering_axis_has_its_distance_as_scrub_radius_and_no_trail():
    scrub_radius, trail = ground_offsets(
        np.array([0.0, 700.0, 150.0]),
        np.array([0.0, 0.0, 1.0]),
        STRAIGHT,
        np.array([0.0, 760.0, 0.0]),
    )
    assert scrub_radius == pytest.approx(60.0, abs=LENGTH_ATOL_MM)
    assert trail == pytest.approx(0.0, abs=LENGTH_ATOL_MM)


def test_caster_and_kingpin_inclination_carry_the_axis_forward_and_outboard_on_its_way_down():
    # 100 mm above the ground the axis stands 60 mm inboard; it leans back and in by a tenth.
    scrub_radius, trail = ground_offsets(
        np.array([5.0, 700.0, 100.0]),
        unit(np.array([-0.1, -0.1, 1.0])),
        STRAIGHT,
        np.array([0.0, 760.0, 0.0]),
    )
    assert scrub_radius == pytest.approx(60.0 - 10.0, abs=LENGTH_ATOL_MM)
    assert trail == pytest.approx(5.0 + 10.0, abs=LENGTH_ATOL_MM)


def test_a_wheel_outside_its_axis_has_positive_scrub_radius_and_one_inside_it_negative():
    point, axis = np.array([0.0, 700.0, 150.0]), np.array([0.0, 0.0, 1.0])
    contacts = np.array([[0.0, 710.0, 0.0], [0.0, 690.0, 0.0]])
    scrub_radius, _ = ground_offsets(point, axis, STRAIGHT, contacts)
    np.testing.assert_allclose(scrub_radius, [10.0, -10.0], atol=LENGTH_ATOL_MM)


@pytest.mark.parametrize("steer_deg", [-30.0, -7.0, 12.0, 33.0])
def test_steering_about_a_vertical_axis_keeps_both_offsets_at_the_ground(steer_deg):
    a = np.radians(steer_deg)
    turn = np.array([[np.cos(a), -np.sin(a), 0.0], [np.sin(a), np.cos(a), 0.0], [0.0, 0.0, 1.0]])
    point, axis = np.array([0.0, 700.0, 150.0]), np.array([0.0, 0.0, 1.0])
    arm_to_contact = np.array([-12.0, 60.0, -150.0])
    scrub_radius, trail = ground_offsets(
        point, axis, turn @ STRAIGHT, point + turn @ arm_to_contact
    )
    assert scrub_radius == pytest.approx(60.0, abs=LENGTH_ATOL_MM)
    assert trail == pytest.approx(12.0, abs=LENGTH_ATOL_MM)


def test_a_level_axis_never_meets_the_ground():
    offsets = ground_offsets(
        np.array([0.0, 700.0, 150.0]), STRAIGHT, STRAIGHT, np.array([0.0, 760.0, 0.0])
    )
    assert np.isnan(offsets).all()


def test_the_steering_axis_goes_through_both_ball_joints_wherever_the_wheel_stands():
    linkage = linkage_of("double-wishbone", corner_points(WISHBONE_CAR), drop=20.0)
    motion = toe_held_motion(linkage, np.array([-40.0, 0.0, 40.0]), STRAIGHT, np.zeros(3))
    upper = motion.moved(linkage.upper_ball_joint)
    toward_upper = unit(upper - axis_point(linkage, motion))
    np.testing.assert_allclose(toward_upper, motion.steering_axis, atol=ANGLE_ATOL_DEG)


@pytest.mark.parametrize("car", LINK_CARS)
def test_on_links_the_axis_point_lies_on_the_virtual_axis_nearest_to_the_wheel(car):
    _, points = LINK_CARS[car]
    linkage = link_set_of(points)
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    motion = rod_motion(linkage, np.array([[-30.0, 0.0, 25.0]]), rod)
    point = axis_point(linkage, motion)
    assert point.shape == (1, 3, 3)
    to_wheel = motion.moved(linkage.wheel_center) - point
    np.testing.assert_allclose((to_wheel * motion.steering_axis).sum(-1), 0.0, atol=1e-6)
    assert np.isfinite(point).all()


# --- rates


def test_the_rate_of_a_quartic_is_exact_and_that_of_an_arc_nearly():
    t = RATE_TRAVEL
    assert travel_rate(3.0 * t - t**2 + 0.5 * t**3 - t**4) == pytest.approx(3.0, abs=1e-12)
    assert travel_rate(100.0 * np.sin(t / 100.0)) == pytest.approx(1.0, abs=1e-9)


# --- front view


def test_the_instant_center_of_a_planar_wishbone_is_where_the_lines_of_its_arms_meet():
    motion, center, _ = near_ride_height(planar_wishbone())
    expected = line_crossing(*LOWER, *UPPER)
    found = instant_center(center, motion.rotation)
    np.testing.assert_allclose(found, expected, atol=RATE_CENTER_ATOL_MM)


def test_a_parallelogram_has_its_instant_center_at_infinity():
    lower, upper = ((380.0, 170.0), (730.0, 150.0)), ((340.0, 390.0), (690.0, 370.0))
    motion, center, contact = near_ride_height(planar_wishbone(lower, upper))
    assert np.isnan(instant_center(center, motion.rotation)).all()
    # The line to infinity runs along the arms: they fall 20 mm in 350 mm, and so does it.
    expected = contact[2, 1] * 20.0 / 350.0
    assert roll_center_height(contact, contact[2, 1]) == pytest.approx(expected, abs=1e-6)


def test_the_instant_center_of_a_planar_strut_is_on_the_square_to_its_damper_rod():
    lower, top = ((365.0, 205.0), (735.0, 190.0)), (575.0, 830.0)
    linkage = Strut(
        *arm(*lower),
        strut_top=np.array([0.0, *top]),
        strut_axis=np.array([0.0, 640.0, 400.0]),
        wheel_center=np.array([0.0, 770.0, RADIUS]),
    )
    along = np.array([640.0, 400.0]) - np.array(top)
    square = np.array([-along[1], along[0]])
    motion, center, _ = near_ride_height(linkage)
    expected = line_crossing(*lower, top, np.array(top) + square)
    found = instant_center(center, motion.rotation)
    np.testing.assert_allclose(found, expected, atol=RATE_CENTER_ATOL_MM)


def test_the_roll_center_from_the_contact_path_is_on_the_line_to_the_instant_center():
    motion, center, contact = near_ride_height(planar_wishbone())
    home = contact[2, 1:]
    construction = line_crossing(
        home, instant_center(center, motion.rotation), (0.0, 0.0), (0.0, 1.0)
    )
    height = roll_center_height(contact, home[0])
    assert home[1] + height == pytest.approx(construction[1], abs=RATE_CENTER_ATOL_MM)


def test_arms_that_fall_toward_the_wheel_put_the_roll_center_above_the_ground():
    falling = ((380.0, 190.0), (730.0, 150.0)), ((340.0, 410.0), (690.0, 370.0))
    rising = ((380.0, 110.0), (730.0, 150.0)), ((340.0, 330.0), (690.0, 370.0))
    heights = []
    for arms in (falling, rising):
        _, _, contact = near_ride_height(planar_wishbone(*arms))
        heights.append(roll_center_height(contact, 750.0))
    assert heights[0] > 0.0 > heights[1]


def test_a_wheel_leans_about_its_instant_center_as_its_camber_says():
    motion, center, _ = near_ride_height(planar_wishbone())
    camber_rate = travel_rate(camber_angle(motion.rotation @ STRAIGHT))
    inboard = center[2, 1] - instant_center(center, motion.rotation)[0]
    # Top inboard in bump about a center inboard of the wheel: one radian per its distance.
    assert camber_rate == pytest.approx(-1.0 / inboard, abs=1e-12)


WISHBONE_CAR = {
    "lower_arm_front": [140.0, 390.0, 165.0],
    "lower_arm_rear": [-160.0, 410.0, 155.0],
    "lower_ball_joint": [5.0, 730.0, 150.0],
    "upper_arm_front": [110.0, 450.0, 420.0],
    "upper_arm_rear": [-130.0, 460.0, 410.0],
    "upper_ball_joint": [-15.0, 690.0, 440.0],
    "wheel_center": [0.0, 760.0, 290.0],
}


def test_in_space_the_instant_center_is_where_both_arm_planes_cut_the_wheel_s_plane():
    """Both arm planes cut the plane x of the wheel center in two lines, which meet there.

    That holds for the motion of the arms alone, with nothing turning about the steering axis; so a
    turn about it that cancels what the held toe needs is taken off.  Source of the construction:
    the planes-of-the-arms argument of any handbook of suspension design, from memory.
    """
    points = corner_points(WISHBONE_CAR)
    linkage = linkage_of("double-wishbone", points)
    motion, center, _ = near_ride_height(linkage)
    x = center[2, 0]
    traces = []
    for which in ("lower", "upper"):
        a, b, c = (points[f"{which}_{name}"] for name in ("arm_front", "arm_rear", "ball_joint"))
        normal = np.cross(b - a, c - a)
        ys = np.array([0.0, 500.0])
        zs = a[2] - (normal[0] * (x - a[0]) + normal[1] * (ys - a[1])) / normal[2]
        traces += [(ys[0], zs[0]), (ys[1], zs[1])]
    expected = line_crossing(*traces)
    # Velocity of the upright under toe hold, less a turn about the steering axis that leaves the
    # point `expected` at rest across and up: one turn must cancel both components.
    rate = np.array([travel_rate(center[:, k]) for k in range(3)])
    spun = np.array([[travel_rate(motion.rotation[:, i, k]) for k in range(3)] for i in range(3)])
    turning = spun @ motion.rotation[2].T
    spin = np.array([turning[2, 1], turning[0, 2], turning[1, 0]])
    point = np.array([x, *expected])
    velocity = rate + np.cross(spin, point - center[2])
    k, lower = motion.steering_axis[2], linkage.lower_ball_joint
    about_axis = np.cross(k, point - lower)
    share = velocity[2] / about_axis[2]
    assert velocity[1] == pytest.approx(share * about_axis[1], abs=1e-6)


@pytest.mark.parametrize(
    ("rise", "angle_deg"), [(0.0, 0.0), (100.0, 45.0), (-100.0, -45.0), (57.735026919, 30.0)]
)
def test_a_rod_that_rises_toward_the_wheel_has_a_positive_angle_whatever_its_sweep(rise, angle_deg):
    inner, outer = np.array([0.0, 300.0, 200.0]), np.array([-80.0, 400.0, 200.0 + rise])
    found = np.degrees(front_view_angle(inner, outer))
    assert found == pytest.approx(angle_deg, abs=1e-8)


# --- turn


@pytest.mark.parametrize("outer_deg", [-20.0, 0.0, 5.0, 25.0, 40.0])
def test_both_axle_lines_of_an_ackermann_turn_meet_in_line_with_the_other_axle(outer_deg):
    track, wheelbase = 1500.0, 2500.0
    outer = np.radians(outer_deg)
    inner = ackermann_angle(outer, track, wheelbase)
    if outer_deg:
        # cot(outer) - cot(inner) = track / wheelbase, from memory of any vehicle-dynamics handbook
        gap = 1.0 / np.tan(outer) - 1.0 / np.tan(inner)
        assert gap == pytest.approx(track / wheelbase, abs=1e-12)
        # And by drawing it: the turn's center lies wheelbase behind, at the same distance across.
        assert wheelbase / np.tan(outer) == pytest.approx(wheelbase / np.tan(inner) + track)
    else:
        assert inner == 0.0


def test_the_ackermann_angle_of_a_round_turn():
    # Outer wheel at 45 deg: the center is a wheelbase away from it, half of one from the inner.
    inner = np.degrees(ackermann_angle(np.radians(45.0), 1000.0, 2000.0))
    assert inner == pytest.approx(np.degrees(np.arctan(2.0)), abs=ANGLE_ATOL_DEG)


MIRROR = np.array([1.0, -1.0, 1.0])
ROD = (np.array([-118.0, 396.0, 196.0]), np.array([-130.0, 705.0, 205.0]))


def steer_angles(travel, rack_travel=0.0):
    """Steer of the left wheel and of its mirror image, to the left, at a travel of each. [rad]

    The right wheel is built from mirrored points, not told from the left one: its axle points to
    the right, and a turn to the left is right-handed for both.
    """
    car = corner_points(WISHBONE_CAR)
    steer = []
    for side, rise in zip((np.ones(3), MIRROR), travel, strict=True):
        linkage = linkage_of("double-wishbone", {name: p * side for name, p in car.items()})
        inner, outer = (end * side for end in ROD)
        length = np.linalg.norm(outer - inner)
        rod = Rod(inner + np.array([0.0, rack_travel, 0.0]), outer, length)
        axle = rod_motion(linkage, np.asarray(rise), rod).rotation @ STRAIGHT
        steer.append(np.arctan2(-axle[0], axle[1]))
    return np.array(steer)


def test_the_other_wheel_of_a_mirrored_car_is_steered_as_turn_toe_out_says():
    straight = steer_angles((0.0, 0.0))
    turned_left, turned_right = steer_angles((0.0, 0.0), 30.0) - straight
    # Arms behind the axle: the rack to the left steers to the right, and the right wheel is inner.
    assert turned_left < 0.0
    assert turned_right < 0.0
    toe = [-steer_angles((0.0, 0.0), rack_travel)[0] for rack_travel in (0.0, 30.0, -30.0)]
    assert turn_toe_out(*toe) == pytest.approx(turned_left - turned_right, abs=1e-12)


# --- roll


def test_roll_steer_is_what_both_wheels_do_when_the_body_rolls_a_little():
    """The car and its mirror image, rolled both ways by a tenth of a degree."""
    track, roll = 1500.0, np.radians(0.1)
    rise = 0.5 * track * roll  # of the right wheel, in a roll to the right; the left one falls
    steer = (steer_angles((-rise, rise)) - steer_angles((rise, -rise))) / (2.0 * roll)
    toe = np.array([-steer_angles((t, 0.0))[0] for t in RATE_TRAVEL])
    found = roll_steer_gradient(travel_rate(toe), track)
    assert steer[0] == pytest.approx(steer[1], abs=1e-9)
    # The curve bends over a millimeter and a bit of travel either way.
    assert found == pytest.approx(steer.mean(), rel=1e-3)


def test_toe_out_in_bump_steers_out_of_a_turn_when_the_body_rolls():
    assert roll_steer_gradient(np.asarray(-1e-4), 1500.0) < 0.0


def test_a_virtual_axis_and_the_ball_joints_meet_the_ground_in_the_same_place():
    """A double wishbone seen as four links has the same axis, so the same offsets."""
    linkage = linkage_of("double-wishbone", corner_points(WISHBONE_CAR))
    spin = spin_axis(np.radians(0.2), np.radians(-1.0))
    motion = toe_held_motion(linkage, np.array([-20.0, 15.0]), spin, np.full(2, 0.01))
    as_links = toe_held_motion(linkage.link_set(), np.array([-20.0, 15.0]), spin, np.full(2, 0.01))
    offsets = []
    for kind, moved in ((linkage, motion), (linkage.link_set(), as_links)):
        spun = moved.rotation @ spin
        contact = contact_point(moved.moved(linkage.wheel_center), spun, RADIUS)
        offsets.append(ground_offsets(axis_point(kind, moved), moved.steering_axis, spun, contact))
    np.testing.assert_allclose(offsets[0], offsets[1], atol=1e-6)
