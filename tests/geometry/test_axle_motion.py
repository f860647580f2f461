"""A beam axle and its knuckles, by Newton: what is kept, in batches too, and where it ends."""

import numpy as np
import pytest

from geometry.axle_motion import axle_motion, toe_held_axle_motion
from geometry.motion import Reach
from geometry.side_effects import axis_point
from geometry.virtual_axis import measured_axis
from geometry.wheel_angles import spin_axis

from .axle_cars import AXLE_CARS, MIRROR, axle_of, drag_link, followed, toe_deg
from .every_corner import ANGLE_ATOL_DEG, LENGTH_ATOL_MM, assert_same, row

DOWN = np.array([0.0, 0.0, -1.0])
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL = np.linspace(-80.0, 80.0, 17)
FAR = np.arange(-700.0, 701.0, 50.0)
CARS = pytest.mark.parametrize("car", AXLE_CARS)
ABOUT = pytest.mark.parametrize("about", [None, 0.0, 40.0], ids=["heave", "roll", "lowered, roll"])


# ---- what is kept ----


@ABOUT
@CARS
def test_links_cross_rod_and_drag_link_keep_their_lengths_and_both_wheels_rise_as_wanted(
    car, about
):
    points, motion = AXLE_CARS[car], followed(car, TRAVEL, 1.7, about)
    assert (motion.left.reach == Reach.REACHED).all()

    def length(place, number):
        return np.linalg.norm(place - points[f"link_{number}_inner"], axis=-1)

    for number in range(1, 5) if "link_1_outer" in points else ():
        end = points[f"link_{number}_outer"]
        np.testing.assert_allclose(
            length(motion.beam.moved(end), number), length(end, number), rtol=0, atol=LENGTH_ATOL_MM
        )
    end = points["cross_rod_end"]
    span = motion.left.moved(end) - motion.right.moved(end * MIRROR)
    for found, wanted in (
        (np.linalg.norm(span, axis=-1), 2.0 * end[1]),
        (
            np.linalg.norm(
                motion.left.moved(points["drag_link_outer"]) - points["drag_link_inner"], axis=-1
            ),
            float(drag_link(points, 1.7).length),
        ),
        (motion.left.moved(points["wheel_center"])[:, 2] - points["wheel_center"][2], TRAVEL),
        (
            motion.right.moved(points["wheel_center"] * MIRROR)[:, 2] - points["wheel_center"][2],
            TRAVEL if about is None else 2.0 * about - TRAVEL,
        ),
    ):
        np.testing.assert_allclose(found, wanted, rtol=0, atol=LENGTH_ATOL_MM)


@ABOUT
@CARS
def test_both_kingpins_stay_in_the_beam_and_are_the_steering_axes(car, about):
    points, motion = AXLE_CARS[car], followed(car, TRAVEL, 1.7, about)
    np.testing.assert_allclose(
        axis_point(axle_of(points, about), motion.left),
        motion.beam.moved(points["kingpin_lower"]),
        rtol=0,
        atol=LENGTH_ATOL_MM,
    )
    for knuckle, mirror in ((motion.left, 1.0), (motion.right, MIRROR)):
        lower, upper = (points[f"kingpin_{end}"] * mirror for end in ("lower", "upper"))
        for point in (lower, upper):
            np.testing.assert_allclose(
                knuckle.moved(point), motion.beam.moved(point), rtol=0, atol=LENGTH_ATOL_MM
            )
        along = knuckle.moved(upper) - knuckle.moved(lower)
        along /= np.linalg.norm(along, axis=-1)[:, None]
        np.testing.assert_allclose(knuckle.steering_axis, along, rtol=0, atol=1e-12)


@pytest.mark.parametrize("about", [None, 0.0], ids=["heave", "roll"])
@CARS
def test_at_the_measured_height_on_the_measured_drag_link_nothing_has_moved(car, about):
    motion = followed(car, np.array(0.0), about=about)
    for part in (motion.left, motion.right, motion.beam):
        np.testing.assert_array_equal(part.rotation, np.eye(3))
        np.testing.assert_allclose(part.translation, 0.0, rtol=0, atol=LENGTH_ATOL_MM)


@CARS
def test_the_measured_axis_is_the_kingpin(car):
    points = AXLE_CARS[car]
    axis = measured_axis(axle_of(points))
    np.testing.assert_array_equal(axis.lower, points["kingpin_lower"])
    np.testing.assert_array_equal(axis.upper_measured, points["kingpin_upper"])


@ABOUT
@CARS
def test_an_axle_moved_fore_and_aft_and_up_steers_alike(car, about):
    shift = np.array([37.0, 0.0, -52.0])
    points = {name: point + shift for name, point in AXLE_CARS[car].items()}
    moved = axle_motion(axle_of(points, about), TRAVEL, drag_link(points))
    motion = followed(car, TRAVEL, about=about)
    for one, other in ((moved.left, motion.left), (moved.right, motion.right)):
        np.testing.assert_allclose(
            np.degrees(one.rotation), np.degrees(other.rotation), rtol=0, atol=ANGLE_ATOL_DEG
        )


@ABOUT
@CARS
def test_the_mirror_image_of_an_axle_moves_as_the_mirror_image(car, about):
    """Its left wheel, held at the toe that the right one had, takes the right one where it was."""
    motion = followed(car, TRAVEL, about=about)
    toe = np.radians(toe_deg(motion.right, SPIN, MIRROR))
    points = {
        name: point * (MIRROR if name.startswith("link") else 1.0)
        for name, point in AXLE_CARS[car].items()
    }
    travel = TRAVEL if about is None else 2.0 * about - TRAVEL
    image = toe_held_axle_motion(axle_of(points, about), travel, SPIN, toe)
    for one, other in (
        (image.left, motion.right),
        (image.right, motion.left),
        (image.beam, motion.beam),
    ):
        np.testing.assert_allclose(
            np.degrees(one.rotation * np.outer(MIRROR, MIRROR)),
            np.degrees(other.rotation),
            rtol=0,
            atol=ANGLE_ATOL_DEG,
        )
        np.testing.assert_allclose(
            one.translation * MIRROR, other.translation, rtol=0, atol=LENGTH_ATOL_MM
        )


# ---- batches ----


@CARS
def test_points_with_leading_axes_give_one_car_a_row(car):
    errors = np.random.default_rng(3).normal(size=(6, 1, 3))
    points = {name: point + errors for name, point in AXLE_CARS[car].items()}
    link = drag_link(AXLE_CARS[car])
    batch = axle_motion(axle_of(points, 10.0), TRAVEL, link)
    assert batch.right.reach.shape == (6, 17)
    one = {name: point[4, 0] for name, point in points.items()}
    alone = axle_motion(axle_of(one, 10.0), TRAVEL, link)
    assert_same(alone.left, row(batch.left, 4))
    assert_same(alone.right, row(batch.right, 4))


# ---- where the motion ends ----


@CARS
def test_both_wheels_and_the_beam_end_together(car):
    motion = followed(car, FAR)
    beyond = motion.left.reach != Reach.REACHED
    assert 0 < beyond.sum() < FAR.size
    for part in (motion.left, motion.right, motion.beam):
        np.testing.assert_array_equal(part.reach, motion.left.reach)
        for values in (part.rotation, part.translation):
            lost = np.isnan(values).reshape(FAR.size, -1)
            assert lost[beyond].all()
            assert not lost[~beyond].any()
    assert np.isnan(motion.left.steering_axis[beyond]).all()
    assert np.isfinite(motion.right.steering_axis[~beyond]).all()


@pytest.mark.parametrize("longer_by", [-40.0, 0.0, 40.0])
@CARS
def test_the_links_are_blamed_at_heights_that_no_drag_link_reaches(car, longer_by):
    motion = followed(car, np.array([-1500.0, 1500.0]), longer_by)
    assert (motion.left.reach == Reach.ARMS_END).all()


def test_the_links_are_blamed_for_a_roll_wider_than_the_axle():
    car = next(iter(AXLE_CARS))
    motion = followed(car, np.array([-820.0, 0.0, 820.0]), about=0.0)
    np.testing.assert_array_equal(
        motion.left.reach, [Reach.ARMS_END, Reach.REACHED, Reach.ARMS_END]
    )
