"""What must close in a beam axle, and the toe-held method on it with the drag link as the rod."""

import numpy as np
import pytest

from geometry.linkages.closure import rod_closure, toe_held_closure
from geometry.motion import Rod, rod_motion
from geometry.toe_held import (
    estimate_error_rate,
    rod_length_needed,
    toe_error,
    toe_error_estimate,
    toe_held_poses,
)
from geometry.wheel_angles import spin_axis, toe_angle

from .axle_cars import AXLE_CARS, axle_of, drag_link

LENGTH_ATOL_MM = 1e-9
TOE_ERROR_ATOL_DEG = 1e-10  # two ways to one pose that share their residual
# Central differences of a step of 1e-3 mm on a smooth function of some 300 mm.
DIFFERENCE_STEP_MM, DIFFERENCE_ATOL = 1e-3, 1e-7

DOWN = np.array([0.0, 0.0, -1.0])
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL = np.linspace(-80.0, 80.0, 17)
TOE = np.radians(np.linspace(-0.4, 0.3, 17))
CARS = pytest.mark.parametrize("car", AXLE_CARS)
ABOUT = pytest.mark.parametrize("about", [None, 0.0, 40.0], ids=["heave", "roll", "lowered, roll"])


def closures(car, about):
    points = AXLE_CARS[car]
    axle, rod = axle_of(points, about), drag_link(points, 0.8)
    return {
        "rod": rod_closure(axle, TRAVEL, rod.inner, rod.outer, rod.length),
        "toe": toe_held_closure(axle, TRAVEL, SPIN, TOE),
    }


@pytest.mark.parametrize("steer", ["rod", "toe"])
@ABOUT
@CARS
def test_the_jacobian_is_what_differences_of_the_residual_show(car, about, steer):
    closure = closures(car, about)[steer]
    off = np.random.default_rng(0).uniform(-15.0, 15.0, (17, 8))
    pose = closure.measured.moved(off)
    _, jacobian = closure.rows(pose)
    assert jacobian.shape == (17, 8, 8)
    for column in range(8):
        step = DIFFERENCE_STEP_MM * np.eye(8)[column]
        after, before = (closure.rows(pose.moved(way * step))[0] for way in (1.0, -1.0))
        np.testing.assert_allclose(
            jacobian[..., column],
            (after - before) / (2.0 * DIFFERENCE_STEP_MM),
            rtol=0,
            atol=DIFFERENCE_ATOL,
        )


@pytest.mark.parametrize("steer", ["rod", "toe"])
@CARS
def test_a_pose_that_is_off_leaves_something_open(car, steer):
    """Each of the eight ways to be off is seen, so that a zero residual means a pose."""
    closure = closures(car, 0.0)[steer]
    residual, jacobian = closure.rows(closure.measured)
    np.testing.assert_allclose(residual[:, :4], 0.0, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_allclose(residual[:, 4], -TRAVEL, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_allclose(residual[:, 5], TRAVEL, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_allclose(residual[:, 6], 0.0, rtol=0, atol=LENGTH_ATOL_MM)
    assert (np.linalg.svd(jacobian)[1][..., -1] > 0.01).all()


# ---- the toe-held method with the drag link as the rod ----


@ABOUT
@CARS
def test_the_toe_held_method_gives_the_toe_of_every_pair(car, about):
    """Exact, and as an estimate that is off by no more than twice its own second-order term."""
    points, travel, home = AXLE_CARS[car], np.linspace(-60.0, 60.0, 13) + (about or 0.0), 6
    axle, toe = axle_of(points, about), np.radians(0.1) + 1e-5 * travel
    poses = toe_held_poses(axle, travel, SPIN, toe, home)
    drop = np.linspace(-10.0, 20.0, 7)[:, None] * DOWN
    outer, inner = points["drag_link_outer"] + drop, points["drag_link_inner"] + 0.2 * drop
    length = rod_length_needed(poses, outer, inner)[:, home]
    motion = rod_motion(axle, travel, Rod(inner[:, None, :], outer[:, None, :], length[:, None]))
    exact = toe_angle(motion.rotation @ SPIN) - toe
    found = toe_error(poses, outer, inner)
    within = np.isfinite(found)
    assert within.mean() > 0.5  # the others steer more than the method's five degrees
    np.testing.assert_allclose(
        np.degrees(found[within]), np.degrees(exact[within]), rtol=0, atol=TOE_ERROR_ATOL_DEG
    )
    estimate = toe_error_estimate(poses, outer, inner)
    rate = estimate_error_rate(poses, outer, inner)
    small = within & (np.abs(estimate) < 0.02)
    missed = np.abs(estimate - exact)[small]
    assert small.sum() > 20
    assert (missed <= 2.0 * rate * estimate[small] ** 2 + np.radians(TOE_ERROR_ATOL_DEG)).all()
