"""The toe-held method against the closed-form solver, and the pivot that it names against search.

The solver knows nothing of the method: it takes a rod of a length and finds the pose.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.linkages import Linkage
from geometry.motion import Motion, Reach, Rod, rod_motion, toe_held_motion
from geometry.pivot_fit import fitted_inner, fitted_outer
from geometry.toe_held import (
    HALF_RANGE,
    ToeHeldPoses,
    estimate_error_rate,
    rod_length_needed,
    toe_error,
    toe_error_estimate,
    toe_held_poses,
)
from geometry.wheel_angles import spin_axis, toe_angle

from .corners import Array, corner_points, linkage_of
from .printed import published

LENGTH_ATOL_MM = 1e-9
# The method interpolates the poses between nine toe angles: exact but for its last digits.
INTERPOLATED_ATOL_DEG = 1e-10
ROUNDING = 1e-12  # of the solver, whose wheel center reaches its height to 1e-10 mm [rad]

ANCHORS = published("corner_anchors")
LAYOUTS = ["strut", "double_wishbone"]
TRAVEL = np.linspace(-60.0, 60.0, 25)
HOME = 12
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
X, Y, Z = np.eye(3)
FARTHEST = 30.0  # of a random pivot from its seat, along each axis [mm]


@dataclass(frozen=True)
class Car:
    """A corner, as measured or changed, with its toe-held poses."""

    name: str
    lowered_by: float = 0.0
    ball_joint_drop: float = 0.0
    static_toe_deg: float = 0.0
    gain_deg_per_10mm: float = 0.0

    @property
    def linkage(self) -> Linkage:
        points = corner_points(ANCHORS[self.name]["points"])
        return linkage_of(ANCHORS[self.name]["layout"], points, self.ball_joint_drop)

    @property
    def pivots(self) -> tuple[Array, Array]:
        points = corner_points(ANCHORS[self.name]["points"])
        return points["tie_rod_outer"], points["tie_rod_inner"]

    @property
    def wanted_toe(self) -> Array:
        return np.radians(self.static_toe_deg + self.gain_deg_per_10mm / 10.0 * TRAVEL)

    @property
    def poses(self) -> ToeHeldPoses:
        heights = TRAVEL + self.lowered_by
        return toe_held_poses(self.linkage, heights, SPIN, self.wanted_toe, HOME)

    def solved(self, outer: Array, inner: Array) -> Motion:
        """The solver's motion of pairs (M, 3), each on the rod that holds its toe at ride height,
        (M, 25)."""
        home = toe_held_motion(
            self.linkage, np.array(self.lowered_by), SPIN, np.radians(self.static_toe_deg)
        )
        length = np.linalg.norm(home.moved(outer) - inner, axis=-1)
        rod = Rod(inner[:, None], outer[:, None], length[:, None])
        return rod_motion(self.linkage, TRAVEL + self.lowered_by, rod)

    def solved_error(self, outer: Array, inner: Array) -> Array:
        """Toe beyond the wanted toe by the solver, (M, 25). [rad]"""
        return toe_angle(self.solved(outer, inner).rotation @ SPIN) - self.wanted_toe


CHANGED = {
    "as measured": {},
    "lowered": {"lowered_by": 40.0, "static_toe_deg": 0.1},
    "raised": {"lowered_by": -20.0, "static_toe_deg": -0.2},
    "toe gained in droop": {"lowered_by": 40.0, "gain_deg_per_10mm": -0.02},
    "toe gained in bump": {"static_toe_deg": 0.1, "gain_deg_per_10mm": 0.05},
    "ball joint extended": {"lowered_by": 40.0, "ball_joint_drop": 30.0},
}
CARS = [
    pytest.param(Car(name, **change), id=f"{name}, {words}")
    for name in LAYOUTS
    for words, change in CHANGED.items()
]


def random_pairs(car: Car, count: int, seed: int) -> tuple[Array, Array]:
    """Pivots scattered about their seats, (count, 3) each."""
    rng = np.random.default_rng(seed)
    outer, inner = (seat + rng.uniform(-FARTHEST, FARTHEST, size=(count, 3)) for seat in car.pivots)
    return outer, inner


@pytest.mark.parametrize("car", CARS)
def test_toe_error_is_that_of_the_closed_form_solver(car):
    pairs = random_pairs(car, 200, seed=7)
    found, solved = toe_error(car.poses, *pairs), car.solved_error(*pairs)
    judged = ~np.isnan(found)
    assert judged.mean() > 0.95
    np.testing.assert_allclose(
        np.degrees(found[judged]), np.degrees(solved[judged]), rtol=0, atol=INTERPOLATED_ATOL_DEG
    )


@pytest.mark.parametrize("car", CARS)
def test_toe_error_is_nan_exactly_where_the_solver_finds_more_than_the_half_range(car):
    outer, inner = random_pairs(car, 200, seed=7)
    # Farther out than the others, so that some errors are larger than the method covers.
    outer, inner = outer - 30.0 * Z, inner + 30.0 * Z
    solved = car.solved_error(outer, inner)
    far = np.abs(solved) > HALF_RANGE
    assert not np.isnan(solved).any()
    assert 0 < far.sum() < far.size / 2
    np.testing.assert_array_equal(np.isnan(toe_error(car.poses, outer, inner)), far)


@pytest.mark.parametrize("name", LAYOUTS)
def test_toe_error_is_nan_where_the_rod_cannot_follow(name):
    car = Car(name)
    outer, inner = car.pivots
    # A short steep rod on a short steering arm, near the dead point of the two.
    outer, inner = outer + np.array([[84.0, -61.0, -60.0]]), inner + np.array([[-4.0, 13.0, 40.0]])
    lost = car.solved(outer, inner).reach == Reach.ROD_ENDS
    assert lost.any()
    assert np.isnan(toe_error(car.poses, outer, inner)[lost]).all()


@pytest.mark.parametrize("name", LAYOUTS)
def test_heights_beyond_the_arms_are_nan_and_leave_the_others_as_they_are(name):
    car = Car(name)
    heights = np.concatenate([TRAVEL, [-395.0]])
    poses = toe_held_poses(car.linkage, heights, SPIN, np.zeros(heights.shape), HOME)
    pairs = random_pairs(car, 5, seed=1)
    for score in (toe_error, toe_error_estimate, rod_length_needed):
        found = score(poses, *pairs)
        assert np.isnan(found[:, -1]).all()
        np.testing.assert_array_equal(found[:, :-1], score(car.poses, *pairs))


@pytest.mark.parametrize("car", CARS)
def test_a_rod_of_the_needed_length_holds_the_wanted_toe_at_that_height(car):
    outer, inner = random_pairs(car, 20, seed=3)
    length = rod_length_needed(car.poses, outer, inner)
    motion = rod_motion(
        car.linkage, TRAVEL + car.lowered_by, Rod(inner[:, None], outer[:, None], length)
    )
    toe = toe_angle(motion.rotation @ SPIN)
    np.testing.assert_allclose(
        np.degrees(toe - car.wanted_toe), 0.0, rtol=0, atol=INTERPOLATED_ATOL_DEG
    )


@settings(max_examples=40, deadline=None)
@given(
    car=st.builds(
        Car,
        name=st.sampled_from(LAYOUTS),
        lowered_by=st.floats(-30.0, 60.0),
        ball_joint_drop=st.floats(0.0, 30.0),
        static_toe_deg=st.floats(-0.5, 0.5),
        gain_deg_per_10mm=st.floats(-0.05, 0.05),
    ),
    seed=st.integers(0, 10**6),
)
def test_the_estimate_stays_within_twice_its_second_order_term_of_the_exact_toe_error(car, seed):
    pairs = random_pairs(car, 40, seed)
    exact = car.solved_error(*pairs)
    estimate = toe_error_estimate(car.poses, *pairs)
    bound = 2.0 * estimate_error_rate(car.poses, *pairs) * estimate**2
    assert (np.abs(exact - estimate) <= bound + ROUNDING).all()


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_estimate_is_of_first_order_a_tenth_of_the_error_leaves_a_hundredth_of_the_miss(name):
    car = Car(name)
    outer, inner = random_pairs(car, 1, seed=5)
    best = fitted_outer(car.poses, outer[0], inner[0], np.eye(3)).point
    off = 10.0 * np.stack([Z, 0.1 * Z])  # from a pivot that leaves next to no toe error
    outer, inner = best + off, np.broadcast_to(inner, (2, 3))
    miss = np.abs(toe_error_estimate(car.poses, outer, inner) - car.solved_error(outer, inner)).max(
        axis=1
    )
    # Third-order terms and the little that the best pivot leaves spoil the round number.
    assert miss[1] == pytest.approx(0.01 * miss[0], rel=0.3)


# ---- the pivot that the method names ----

STEP = 1.0  # between the heights that are tried [mm]
FITTED_CARS = [
    pytest.param(Car(name, lowered_by, drop), id=f"{name}, lowered {lowered_by}, extended {drop}")
    for name in LAYOUTS
    for lowered_by in (0.0, 40.0)
    for drop in (0.0, 30.0)
]


def peaks_of_straight_stacks(car: Car) -> tuple[Array, Array]:
    """Heights (M,) [mm], and by the solver the peak toe error on each, (M,). [rad]"""
    heights = np.arange(-20.0, 50.0, STEP)
    outer, inner = car.pivots
    outers = outer - heights[:, None] * Z
    return heights, np.abs(car.solved_error(outers, np.broadcast_to(inner, outers.shape))).max(
        axis=1
    )


@pytest.mark.parametrize("car", FITTED_CARS)
def test_the_stack_by_fit_is_within_one_step_of_the_best_of_all_stacks_solved_exactly(car):
    heights, peaks = peaks_of_straight_stacks(car)
    best = heights[np.argmin(peaks)]
    assert heights[0] < best < heights[-1]
    fit = fitted_outer(car.poses, *car.pivots, -Z[None])
    assert abs(fit.moves[0] - best) <= STEP
    np.testing.assert_allclose(fit.point, car.pivots[0] - fit.moves[0] * Z, rtol=0, atol=0)


@pytest.mark.parametrize("car", FITTED_CARS)
def test_the_rack_by_fit_is_within_one_step_of_the_best_of_all_rack_heights_solved_exactly(car):
    raises = np.arange(-20.0, 50.0, STEP)
    outer, inner = car.pivots
    inners = inner + raises[:, None] * Z
    peaks = np.abs(car.solved_error(np.broadcast_to(outer, inners.shape), inners)).max(axis=1)
    best = raises[np.argmin(peaks)]
    assert raises[0] < best < raises[-1]
    fit = fitted_inner(car.poses, outer, inner, Z[None])
    assert abs(fit.moves[0] - best) <= STEP
    np.testing.assert_allclose(fit.point, inner + fit.moves[0] * Z, rtol=0, atol=0)


@pytest.mark.parametrize("car", FITTED_CARS)
def test_a_custom_pivot_by_fit_beats_the_best_straight_stack_at_least_five_fold(car):
    # A thousandth of a degree of toe weighs as much as a millimeter of custom metal.
    fit = fitted_outer(car.poses, *car.pivots, np.eye(3), pull=np.radians(1e-3))
    peak = np.abs(car.solved_error(fit.point[None], car.pivots[1][None])).max()
    straight = peaks_of_straight_stacks(car)[1].min()
    assert straight > 5.0 * peak, (
        f"straight {np.degrees(straight):.4f} deg, custom {np.degrees(peak):.4f} deg "
        f"at {np.round(fit.moves, 1)} mm"
    )


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_stronger_pull_keeps_the_custom_pivot_nearer_to_its_seat_and_leaves_more_toe_error(name):
    car = Car(name, lowered_by=40.0)
    fits = [
        fitted_outer(car.poses, *car.pivots, np.eye(3), pull=np.radians(pull))
        for pull in (1e-4, 1e-3, 1e-2, 1e-1, 1.0)
    ]
    away = [np.linalg.norm(fit.moves) for fit in fits]
    left = [
        np.sqrt((car.solved_error(fit.point[None], car.pivots[1][None]) ** 2).mean())
        for fit in fits
    ]
    assert (np.diff(away) < 0.0).all()
    assert (np.diff(left) > 0.0).all()


@pytest.mark.parametrize("name", LAYOUTS)
def test_both_fits_stay_where_they_are_on_a_pair_that_is_already_best(name):
    car = Car(name, lowered_by=40.0)
    outer, inner = car.pivots
    best = fitted_outer(car.poses, outer, inner, np.eye(3)).point
    again = fitted_outer(car.poses, best, inner, np.eye(3))
    # Between the two the rate of toe with rod length, taken at the seat, has changed a little.
    assert np.linalg.norm(again.moves) < 0.05 * np.linalg.norm(best - outer)


@pytest.mark.parametrize("name", LAYOUTS)
def test_heights_out_of_reach_take_no_part_in_a_fit(name):
    car = Car(name)
    heights = np.concatenate([TRAVEL, [-395.0]])
    poses = toe_held_poses(car.linkage, heights, SPIN, np.zeros(heights.shape), HOME)
    assert (
        toe_held_motion(car.linkage, heights, SPIN, np.zeros(heights.shape)).reach[-1]
        == Reach.ARMS_END
    )
    for fit in (fitted_outer, fitted_inner):
        np.testing.assert_allclose(
            fit(poses, *car.pivots, -Z[None]).point,
            fit(car.poses, *car.pivots, -Z[None]).point,
            rtol=0,
            atol=LENGTH_ATOL_MM,
        )
