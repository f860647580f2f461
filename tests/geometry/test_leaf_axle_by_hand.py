"""Leaf-sprung axles whose motion is known by hand: springs that stay level, and leaves as arcs.

The reference for a leaf is one arc of a circle from eye to shackle whose length stays: what a leaf
of even strength, loaded at its seat and free of torque, bends to.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import root

from geometry.assembly import Way
from geometry.axle_motion import axle_motion, toe_held_axle_motion
from geometry.linkages.even_bending import arc_length
from geometry.poses import Reach

from .axle_cars import AXLE_CARS, LEAF_CARS, LEFT, MIRROR, axle_of, drag_link, followed, toe_deg
from .corners import corner_points, rod_between

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
FAR_BELOW = 1e5  # a shackle so long lets the leaf's end, which moves 21 mm, sink by 0.0022 mm
LEVEL_ATOL = 2.5e-3  # in mm, and far more than that is in degrees over 1280 mm
ARC_SEAT_ATOL_MM, ARC_PITCH_ATOL_DEG = 0.1, 0.1  # links for arcs, 100 mm either way

LEAF = ("spring_eye", "spring_seat", "shackle_spring", "shackle_frame")
TRAVEL = np.linspace(-100.0, 100.0, 9)
HALF = 640.0
LEVEL = corner_points(
    {
        "spring_eye": [HALF, 410, 420],
        "spring_seat": [0, 410, 420],
        "shackle_spring": [-HALF, 410, 420],
        "shackle_frame": [-HALF, 410, 420 - FAR_BELOW],
        "kingpin_lower": [0, 690, 280],
        "kingpin_upper": [0, 690, 440],
        "cross_rod_end": [-150, 640, 320],
        "wheel_center": [0, 800, 360],
    }
)


def test_a_level_spring_takes_its_seat_around_on_three_quarters_of_its_half():
    """About a point of the spring at a quarter of the half from the eye, and without a turn."""
    eye_link = np.array([-0.75 * HALF, 0.0, 0.0])
    pitman = np.array([600.0, 560.0, 470.0])
    motion = axle_motion(axle_of(LEVEL), TRAVEL, rod_between(pitman, pitman + eye_link))
    seat = motion.beam.moved(LEVEL["spring_seat"])
    aft = 0.75 * HALF - np.sqrt((0.75 * HALF) ** 2 - TRAVEL**2)
    np.testing.assert_allclose(seat[:, 0], aft, rtol=0, atol=LEVEL_ATOL)
    np.testing.assert_allclose(seat[:, 1], 410.0, rtol=0, atol=LEVEL_ATOL)
    np.testing.assert_allclose(
        np.degrees(motion.beam.rotation - np.eye(3)), 0.0, rtol=0, atol=LEVEL_ATOL
    )
    # A drag link that is an equal parallel copy of the link for the half is carried along.
    for toe in (toe_deg(motion.left), toe_deg(motion.right, LEFT, MIRROR)):
        np.testing.assert_allclose(toe, 0.0, rtol=0, atol=LEVEL_ATOL)
    assert aft.max() > 10.0


def test_an_axle_on_level_springs_rolls_about_the_middle_between_its_seats():
    """What is beside that middle is carried sideways: the wheel centers, 60 mm below it."""
    step = 0.01
    rod = rod_between(np.array([150.0, -300.0, 420.0]), np.array([150.0, 690.0, 420.0]))
    beam = axle_motion(axle_of(LEVEL, 0.0), np.array([-step, step]), rod).beam
    middle, center = (np.array([0.0, 0.0, height]) for height in (420.0, 360.0))
    np.testing.assert_allclose(beam.moved(middle)[:, 1], 0.0, rtol=0, atol=LENGTH_ATOL_MM)
    roll = np.arctan2(beam.rotation[:, 2, 1], beam.rotation[:, 1, 1])
    sideways = beam.moved(center)[:, 1]
    np.testing.assert_allclose(sideways, 60.0 * np.sin(roll), rtol=0, atol=LENGTH_ATOL_MM)
    assert roll[1] == pytest.approx(step / 800.0, rel=1e-6)


@pytest.mark.parametrize("bent", [0.02, 0.2, 0.4, 0.6])
def test_a_link_of_three_quarters_stands_for_a_half_that_bends_evenly(bent):
    """Its length falls short by the bend's fourth power over 810, its end is at a quarter."""
    tip = np.array([np.sin(bent), 0.0, 1.0 - np.cos(bent)]) / bent
    length = np.linalg.norm(tip - [0.25, 0.0, 0.0])
    assert length == pytest.approx(0.75, rel=1.1 * bent**4 / 810.0 + 1e-15)
    assert length != pytest.approx(0.75, rel=0.9 * bent**4 / 810.0)
    assert arc_length(tip, np.array([1.0, 0.0, 0.0])) == pytest.approx(1.0, rel=1e-12)


def on_arc(seat, lean, bent, length):
    """Where an arc of a curvature, that leaves its seat at an angle, is after a length."""
    half = 0.5 * bent * length
    return seat + length * np.sinc(half / np.pi) * np.exp(1j * (lean + half))


def center_of_circle(one, other, third):
    """Center of the circle through three points of the side view."""
    a, b = other - one, third - one
    return one + (a * abs(b) ** 2 - b * abs(a) ** 2) / (a * b.conjugate() - b * a.conjugate())


def solved(equations, start):
    found = root(equations, start, tol=1e-13)
    assert np.abs(found.fun).max() < 1e-9
    return found.x


def as_parts(*points):
    return np.array([part for point in points for part in (point.real, point.imag)])


@pytest.mark.parametrize("car", LEAF_CARS)
def test_seat_and_pitch_are_those_of_a_leaf_that_bends_to_one_arc(car):
    """The whole leaf as an arc of one length and one curvature, its numbers found by SciPy."""
    points = AXLE_CARS[car]
    eye, seat, end, frame = (complex(*points[name][[0, 2]]) for name in LEAF)
    start = [
        np.angle(eye - seat),
        2e-4 * np.sign((eye - seat).real),
        abs(eye - seat),
        -abs(end - seat),
    ]
    lean, bent, to_eye, to_end = solved(
        lambda u: as_parts(on_arc(seat, *u[:3]) - eye, on_arc(seat, *u[:2], u[3]) - end), start
    )
    motion = followed(car, TRAVEL).beam
    seats = motion.moved(points["spring_seat"])
    pitch = np.degrees(np.arctan2(-motion.rotation[:, 0, 2], motion.rotation[:, 0, 0]))
    found = [[seat.real, lean, bent]]
    for height in [*seats[4::-1, 2], *seats[:, 2]]:

        def left_open(u, height=height):
            at = complex(u[0], height)
            shackle = abs(on_arc(at, u[1], u[2], to_end) - frame) - abs(end - frame)
            return [*as_parts(on_arc(at, *u[1:], to_eye) - eye), shackle]

        found.append(solved(left_open, found[-1]))
    x, leans, _ = np.array(found[-len(seats) :]).T
    np.testing.assert_allclose(seats[:, 0], x, rtol=0, atol=ARC_SEAT_ATOL_MM)
    np.testing.assert_allclose(pitch, np.degrees(leans - lean), rtol=0, atol=ARC_PITCH_ATOL_DEG)
    assert np.abs(pitch).max() > 0.5
    assert np.ptp(x) > 10.0


@pytest.mark.parametrize("car", LEAF_CARS)
def test_a_lift_block_puts_the_axle_lower_by_itself_and_leaves_the_spring_as_it_was(car):
    """Neither turned nor bent: the beam is where it was measured, a block farther from the leaf."""
    block, spin = 60.0, np.array([0.0, 1.0, 0.0])
    axle = replace(axle_of(AXLE_CARS[car]), lift_block=block)
    end, middle, other = (complex(*AXLE_CARS[car][name][[0, 2]]) for name in LEAF[2::-1])
    circle = center_of_circle(end, middle, other)
    away = (circle - middle) / abs(circle - middle)
    beam = toe_held_axle_motion(axle, np.array(-block * away.imag), spin, np.array(0.0)).beam
    np.testing.assert_allclose(
        np.degrees(beam.rotation - np.eye(3)), 0.0, rtol=0, atol=ANGLE_ATOL_DEG
    )
    np.testing.assert_allclose(
        beam.translation, [-block * away.real, 0.0, -block * away.imag], rtol=0, atol=1e-9
    )


@pytest.mark.parametrize("about", [None, 0.0], ids=["heave", "roll"])
@pytest.mark.parametrize("car", LEAF_CARS)
def test_a_pose_is_one_that_the_axle_can_be_led_to_and_none_is_missed(car, about):
    """Random axles to the ends of their springs, led by small jumps from the measured pose."""
    rng, travel = np.random.default_rng(1), np.linspace(-320.0, 320.0, 17)
    found = 0
    for _ in range(10):
        points = {name: point + rng.normal(0.0, 15.0, 3) for name, point in AXLE_CARS[car].items()}
        axle, rod = axle_of(points, about), drag_link(points)
        beam = axle_motion(axle, travel, rod).beam
        led, arrived = Way.of(axle, travel, rod).led(np.arange(travel.size))
        np.testing.assert_array_equal(beam.reach == Reach.REACHED, arrived)
        np.testing.assert_allclose(
            beam.rotation[arrived], led.rotation[arrived], rtol=0, atol=np.radians(ANGLE_ATOL_DEG)
        )
        found += arrived.sum()
    assert 40 < found < 170
