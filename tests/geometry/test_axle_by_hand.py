"""Beam axles whose motion is known by hand: parallel links, front view, one axis, plan view."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from geometry.axle_motion import axle_motion
from geometry.motion import Rod
from geometry.vectors import rotation_about
from geometry.wheel_angles import camber_angle

from .axle_cars import LEFT, MIRROR, axle_of, toe_deg
from .corners import corner_points, rod_between

ANGLE_ATOL_DEG = 1e-9

TRAVEL = np.linspace(-80.0, 80.0, 17)
FLAT_AXLE = tomllib.loads(
    (Path(__file__).parents[1] / "flat_axle.toml").read_text(encoding="utf-8")
)


def flat_axle(lateral_link):
    """Three equal level links run lengthwise, the kingpins stand upright."""
    inner, outer = lateral_link
    return axle_of(corner_points({**FLAT_AXLE, "link_1_inner": inner, "link_1_outer": outer}))


@pytest.mark.parametrize("lateral", [[0.0, 860.0, 0.0], [35.0, 840.0, -130.0]])
def test_no_heave_steer_where_the_drag_link_is_an_equal_parallel_copy_of_the_lateral_link(lateral):
    """The beam swings on parallel links without turning, and carries the drag link along."""
    start, pitman = np.array([80.0, -410.0, 480.0]), np.array([160.0, -240.0, 530.0])
    axle = flat_axle((start, start + lateral))
    motion = axle_motion(axle, TRAVEL, rod_between(pitman, pitman + lateral))
    for part in (motion.left, motion.right, motion.beam):
        np.testing.assert_allclose(
            np.degrees(part.rotation - np.eye(3)), 0.0, rtol=0, atol=ANGLE_ATOL_DEG
        )
    np.testing.assert_allclose(toe_deg(motion.left), 0.0, rtol=0, atol=ANGLE_ATOL_DEG)
    np.testing.assert_allclose(
        toe_deg(motion.right, LEFT, MIRROR), 0.0, rtol=0, atol=ANGLE_ATOL_DEG
    )
    sideways = motion.beam.translation[:, 1]
    assert np.abs(sideways).max() > 1.0  # it is carried sideways, and still does not steer


@pytest.mark.parametrize("climb", [-200.0, -60.0, 90.0, 200.0])
@pytest.mark.parametrize("arm", [150.0, -150.0], ids=["arm ahead", "arm behind"])
def test_a_steep_drag_link_steers_a_level_axle_as_the_front_view_says(climb, arm):
    """In bump the lateral link takes the axle straight up, the drag link its end by climb/width.

    The outer end of a drag link that climbs outward swings inboard in bump, toward the car; an arm
    ahead of the axle then turns the wheel's nose inboard, which is toe-in::

                       o  drag link outer        rate of the end = -climb / width
               pitman /                          rate of toe     = -rate of the end / arm
                     o---- width ----
    """
    outer, width = np.array([arm, 690.0, 400.0]), 800.0
    axle = flat_axle(([60.0, -440.0, 300.0], [60.0, 430.0, 300.0]))
    link = rod_between(outer - np.array([0.0, width, climb]), outer)
    step = np.array([-0.01, 0.01])
    motion = axle_motion(axle, step, link)
    slope = np.diff(np.radians(toe_deg(motion.left)))[0] / 0.02
    other = np.diff(np.radians(toe_deg(motion.right, LEFT, MIRROR)))[0] / 0.02
    # Links of some 900 mm leave out terms of (0.01 / 900)^2.
    assert slope == pytest.approx(climb / width / arm, rel=1e-6)
    assert other == pytest.approx(-slope, rel=1e-6)  # the cross rod takes the other wheel along
    far = axle_motion(axle, np.array([60.0]), link)
    assert np.sign(toe_deg(far.left)[0]) == np.sign(climb * arm)
    assert abs(toe_deg(far.left)[0]) > 1.0


@pytest.mark.parametrize("wheel_height", [360.0, 300.0])
def test_an_axle_whose_links_all_end_on_one_lengthwise_line_rolls_about_it_unsteered(wheel_height):
    """Links, drag link and wheels turn as one body; the pitman ball too is on the line."""
    roll = np.radians(np.array([-6.0, -2.5, 0.0, 3.0, 6.0]))
    points = {
        "link_1_inner": [70, 0, 360],
        "link_1_outer": [60, 480, 330],
        "link_2_inner": [-800, 0, 360],
        "link_2_outer": [-60, 440, 320],
        "link_3_inner": [-640, 0, 360],
        "link_3_outer": [-60, -460, 300],
        "link_4_inner": [-700, 0, 360],
        "link_4_outer": [0, -180, 520],
        "kingpin_lower": [10, 702, 270],
        "kingpin_upper": [-12, 680, 440],
        "cross_rod_end": [-160, 650, 320],
        "wheel_center": [0, 800, wheel_height],
    }
    above = wheel_height - 360.0
    sink = above * (np.cos(roll) - 1.0)  # of the middle between the wheels
    axle = axle_of(corner_points(points), sink)
    link = rod_between(np.array([150.0, 0.0, 360.0]), np.array([150.0, 640.0, 400.0]))
    motion = axle_motion(axle, 800.0 * np.sin(roll) + sink, link)
    expected = rotation_about(np.array([1.0, 0.0, 0.0]), roll)
    for part in (motion.left, motion.right, motion.beam):
        np.testing.assert_allclose(
            np.degrees(part.rotation), np.degrees(expected), rtol=0, atol=ANGLE_ATOL_DEG
        )
    spin = motion.left.rotation @ LEFT
    np.testing.assert_allclose(
        np.degrees(camber_angle(spin)), -np.degrees(roll), rtol=0, atol=ANGLE_ATOL_DEG
    )


@pytest.mark.parametrize("shift", [-60.0, -25.0, 30.0, 55.0])
@pytest.mark.parametrize("rod_end", [[-150.0, 640.0, 300.0], [160.0, 725.0, 290.0]])
def test_the_cross_rod_turns_the_other_wheel_as_two_circles_in_plan_view_say(shift, rod_end):
    """On upright kingpins the axle stays where it is and only the plan view counts."""
    points = corner_points({**FLAT_AXLE, "cross_rod_end": rod_end})
    points |= corner_points({"link_1_inner": [60, -440, 300], "link_1_outer": [60, 430, 300]})
    link = rod_between(np.array([150.0, -240.0, 400.0]), np.array([150.0, 690.0, 400.0]))
    steered = Rod(link.inner + shift * LEFT, link.outer, link.length)
    motion = axle_motion(axle_of(points), np.zeros(1), steered)

    pins, length = (690.0j, -690.0j), 2.0 * rod_end[1]
    arm = complex(*rod_end[:2]) - pins[0]
    turn = complex(*motion.left.rotation[0, :2, 0])
    here = pins[0] + arm * turn
    apart = pins[1] - here
    along = (length**2 + abs(apart) ** 2 - abs(arm) ** 2) / (2.0 * abs(apart))
    aside = np.sqrt(length**2 - along**2)
    ends = [here + apart / abs(apart) * (along + way * aside) for way in (1.0j, -1.0j)]
    straight = arm.conjugate()
    other = min(((end - pins[1]) / straight for end in ends), key=lambda each: abs(each - turn))
    assert abs(np.angle(turn)) > np.radians(5.0)
    np.testing.assert_allclose(
        np.degrees(np.angle(complex(*motion.right.rotation[0, :2, 0]))),
        np.degrees(np.angle(other)),
        rtol=0,
        atol=ANGLE_ATOL_DEG,
    )
