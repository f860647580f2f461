"""A beam axle and its knuckles, by Newton: what is kept, in batches too, and where it ends."""

import numpy as np
import pytest

from geometry.axle_motion import axle_motion, toe_held_axle_motion
from geometry.motion import Motion, Reach, Rod, rod_motion, toe_held_motion
from geometry.side_effects import axis_point
from geometry.virtual_axis import measured_axis
from geometry.wheel_angles import spin_axis

from .axle_cars import AXLE_CARS, MIRROR, axle_of, drag_link, followed, toe_deg

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

DOWN = np.array([0.0, 0.0, -1.0])
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL = np.linspace(-80.0, 80.0, 17)
FAR = np.arange(-700.0, 701.0, 50.0)
CARS = pytest.mark.parametrize("car", AXLE_CARS)
ABOUT = pytest.mark.parametrize("about", [None, 0.0, 40.0], ids=["heave", "roll", "lowered, roll"])


def row(motion: Motion, at) -> Motion:
    return Motion(
        motion.rotation[at], motion.translation[at], motion.steering_axis[at], motion.reach[at]
    )


def assert_same(first: Motion, second: Motion):
    np.testing.assert_array_equal(first.reach, second.reach)
    np.testing.assert_allclose(
        np.degrees(first.rotation), np.degrees(second.rotation), rtol=0, atol=ANGLE_ATOL_DEG
    )
    np.testing.assert_allclose(first.translation, second.translation, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_allclose(
        first.steering_axis, second.steering_axis, rtol=0, atol=np.radians(ANGLE_ATOL_DEG)
    )


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


@pytest.mark.parametrize("wanted", [-3.0, 0.0, 0.25, 4.0])
@CARS
def test_a_held_toe_is_held_at_every_height(car, wanted):
    motion = toe_held_motion(axle_of(AXLE_CARS[car]), TRAVEL, SPIN, np.array(np.radians(wanted)))
    np.testing.assert_allclose(toe_deg(motion, SPIN), wanted, rtol=0, atol=ANGLE_ATOL_DEG)


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
def test_one_candidate_equals_its_row_of_the_batch(car):
    """Also across the blocks in which a large batch is worked off."""
    points = AXLE_CARS[car]
    drop = np.linspace(-25.0, 25.0, 70)[:, None, None] * DOWN
    inner, outer = points["drag_link_inner"], points["drag_link_outer"] + drop
    length = np.linalg.norm(outer - inner, axis=-1)
    batch = rod_motion(axle_of(points), TRAVEL, Rod(inner, outer, length))
    assert batch.reach.shape == (70, 17)
    for k in (0, 31, 69):
        alone = rod_motion(axle_of(points), TRAVEL, Rod(inner, outer[k, 0], length[k, 0]))
        assert_same(alone, row(batch, k))


@CARS
def test_a_height_is_solved_alike_alone_and_among_others(car):
    together = followed(car, FAR).left
    for k in (0, 6, 13, 14, 17, 24):
        assert_same(followed(car, FAR[k]).left, row(together, k))


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
def test_every_number_is_nan_beyond_reach_and_none_is_within(car):
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


@CARS
def test_a_drag_link_that_cannot_be_fitted_at_all_is_blamed_at_every_height(car):
    motion = followed(car, TRAVEL, longer_by=-350.0)
    assert (motion.left.reach == Reach.ROD_ENDS).all()
    assert np.isnan(motion.right.rotation).all()


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


def test_an_unreachable_candidate_does_not_disturb_its_neighbors_in_the_batch():
    car = next(iter(AXLE_CARS))
    points = AXLE_CARS[car]
    rod, good = drag_link(points), followed(car, TRAVEL).left
    lengths = rod.length + np.array([0.0, -350.0, 0.0])
    batch = rod_motion(axle_of(points), TRAVEL, Rod(rod.inner, rod.outer, lengths[:, None]))
    assert (batch.reach[1] == Reach.ROD_ENDS).all()
    for k in (0, 2):
        np.testing.assert_array_equal(batch.rotation[k], good.rotation)


def test_a_height_that_is_not_a_number_is_not_reached():
    motion = followed(next(iter(AXLE_CARS)), np.array([np.nan, 10.0]))
    np.testing.assert_array_equal(motion.left.reach == Reach.REACHED, [False, True])
