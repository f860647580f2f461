"""What every corner's motion must do, by closed form or by Newton, on its rod and with toe held."""

import numpy as np
import pytest

from geometry.motion import Motion, Reach, Rod, rod_motion, toe_held_motion
from geometry.pivot_fit import fitted_outer
from geometry.toe_held import rod_length_needed, toe_held_poses
from geometry.wheel_angles import spin_axis, toe_angle

from .every_corner import ANGLE_ATOL_DEG, EVERY_CORNER, LENGTH_ATOL_MM, assert_same, row

SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL = np.linspace(-80.0, 80.0, 33)
FAR = np.arange(-700.0, 701.0, 20.0)
TOO_SHORT = 0.3  # of a rod's length
DOWN = np.array([0.0, 0.0, -1.0])
CORNERS = pytest.mark.parametrize("corner", EVERY_CORNER.values(), ids=EVERY_CORNER)


def followed(corner, travel) -> Motion:
    return rod_motion(corner.linkage, travel, corner.rod())


def held(corner, travel) -> Motion:
    return toe_held_motion(corner.linkage, travel, SPIN, np.full(np.shape(travel), 0.002))


MOTIONS = pytest.mark.parametrize("motion_of", [followed, held], ids=["on the rod", "toe held"])


@CORNERS
def test_at_the_measured_height_on_the_measured_rod_nothing_has_moved(corner):
    motion = followed(corner, np.array(0.0))
    np.testing.assert_allclose(
        np.degrees(motion.rotation), np.degrees(np.eye(3)), rtol=0, atol=ANGLE_ATOL_DEG
    )
    np.testing.assert_allclose(motion.translation, 0.0, rtol=0, atol=LENGTH_ATOL_MM)


@pytest.mark.parametrize("toe_deg", [-3.0, 0.0, 0.25, 4.0])
@CORNERS
def test_a_held_toe_is_held_at_every_height(corner, toe_deg):
    motion = toe_held_motion(corner.linkage, TRAVEL, SPIN, np.array(np.radians(toe_deg)))
    np.testing.assert_allclose(
        np.degrees(toe_angle(motion.rotation @ SPIN)), toe_deg, rtol=0, atol=ANGLE_ATOL_DEG
    )


@CORNERS
def test_a_fitted_pivot_steers_itself_far_less_than_the_standard_seat(corner):
    travel, home = np.linspace(-60.0, 60.0, 25), 12
    toe = np.full(25, np.radians(0.1))
    poses = toe_held_poses(corner.linkage, travel, SPIN, toe, home)
    seat, inner = corner.rod().outer, corner.rod().inner
    fitted = fitted_outer(poses, seat, inner, np.eye(3), pull=1e-7).point

    def peak(outer):
        length = rod_length_needed(poses, outer[None], inner[None])[0, home]
        motion = rod_motion(corner.linkage, travel, Rod(inner, outer, length))
        return np.abs(toe_angle(motion.rotation @ SPIN) - toe).max()

    assert peak(fitted) < 0.1 * peak(seat)


# ---- batches ----


@MOTIONS
@CORNERS
def test_a_height_is_solved_alike_alone_and_among_others(corner, motion_of):
    together = motion_of(corner, FAR)
    for k in (0, 20, 30, 35, 40, 50):
        assert_same(motion_of(corner, FAR[k]), row(together, k))


@CORNERS
def test_one_candidate_equals_its_row_of_the_batch(corner):
    """Also across the blocks in which a large batch is worked off."""
    drop = np.linspace(-25.0, 25.0, 70)[:, None, None] * DOWN
    inner, outer = corner.rod().inner, corner.rod().outer + drop
    length = np.linalg.norm(outer - inner, axis=-1)
    batch = rod_motion(corner.linkage, TRAVEL, Rod(inner, outer, length))
    assert batch.reach.shape == (70, 33)
    for k in (0, 31, 69):
        alone = rod_motion(corner.linkage, TRAVEL, Rod(inner, outer[k, 0], length[k, 0]))
        assert_same(alone, row(batch, k))


@CORNERS
def test_points_with_leading_axes_give_one_car_a_row(corner):
    errors = np.random.default_rng(3).normal(size=(6, 1, 3))
    points = {name: point + errors for name, point in corner.points.items()}
    batch = rod_motion(corner.linkage_of(points), TRAVEL, corner.rod())
    assert batch.reach.shape == (6, 33)
    one = corner.linkage_of({name: point[4, 0] for name, point in points.items()})
    assert_same(rod_motion(one, TRAVEL, corner.rod()), row(batch, 4))


@CORNERS
def test_an_unreachable_candidate_does_not_disturb_its_neighbors_in_the_batch(corner):
    rod, good = corner.rod(), followed(corner, TRAVEL)
    lengths = rod.length * np.array([[1.0], [TOO_SHORT], [1.0]])
    batch = rod_motion(corner.linkage, TRAVEL, Rod(rod.inner, rod.outer, lengths))
    assert (batch.reach[1] == Reach.ROD_ENDS).all()
    for k in (0, 2):
        assert_same(row(batch, k), good)


# ---- where a motion ends ----


@MOTIONS
@CORNERS
def test_every_number_is_nan_beyond_reach_and_none_is_within(corner, motion_of):
    motion = motion_of(corner, FAR)
    beyond = motion.reach != Reach.REACHED
    assert 0 < beyond.sum() < FAR.size
    for part in (motion.rotation, motion.translation, motion.steering_axis):
        lost = np.isnan(part).reshape(FAR.size, -1)
        assert lost[beyond].all()
        assert not lost[~beyond].any()


@CORNERS
def test_a_rod_that_cannot_be_fitted_at_all_is_blamed_at_every_height(corner):
    motion = rod_motion(corner.linkage, TRAVEL, corner.rod(TOO_SHORT))
    assert (motion.reach == Reach.ROD_ENDS).all()
    assert np.isnan(motion.rotation).all()


@CORNERS
def test_a_height_that_is_not_a_number_is_not_reached(corner):
    motion = followed(corner, np.array([np.nan, 10.0]))
    np.testing.assert_array_equal(motion.reach == Reach.REACHED, [False, True])
