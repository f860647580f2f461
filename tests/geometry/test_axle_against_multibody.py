"""Our Newton motion of beam axles against a multibody library (exudyn), both wheels of them.

The library knows rigid bodies and joints; it shares no formula, no unknown and no solver with ours.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from geometry.axle_motion import axle_motion
from geometry.motion import Reach, Rod, toe_held_motion
from geometry.wheel_angles import camber_angle, spin_axis, toe_angle

from .axle_cars import AXLE_CARS, LEAF_CARS, LEFT, MIRROR, axle_of
from .corners import rod_between
from .multibody import exu
from .multibody_axle import multibody_axle_sweep

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

TRAVEL = np.linspace(-80.0, 80.0, 9)
DOWN = np.array([0.0, 0.0, -1.0])
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
CARS = pytest.mark.parametrize("car", AXLE_CARS)


@dataclass(frozen=True)
class Change:
    """What was changed on the car after it was measured. [mm]"""

    lowered_by: float = 0.0
    outer_drop: float = 0.0
    rod_longer_by: float = 0.0
    pitman_shift: float = 0.0


CHANGES = {
    "as measured": Change(),
    "lowered": Change(lowered_by=40.0),
    "shimmed, drag link shortened": Change(outer_drop=20.0, rod_longer_by=-1.3),
    "steered left": Change(pitman_shift=30.0),
    "steered right": Change(pitman_shift=-30.0),
    "everything at once, steered left": Change(40.0, 20.0, 2.4, 30.0),
    "everything at once, steered right": Change(40.0, 20.0, -1.3, -30.0),
}


@pytest.mark.parametrize("rolling", [False, True], ids=["heave", "roll"])
@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
@CARS
def test_both_wheels_are_where_the_multibody_library_puts_them(car, change, rolling):
    points = AXLE_CARS[car]
    travel = TRAVEL + change.lowered_by
    other = 2.0 * change.lowered_by - travel if rolling else travel
    straight = rod_between(
        points["drag_link_inner"],
        points["drag_link_outer"] + change.outer_drop * DOWN,
        change.rod_longer_by,
    )
    sweeps = multibody_axle_sweep(
        points,
        (straight.inner, straight.outer, float(straight.length)),
        np.stack([travel, other], axis=-1),
        pitman_shift=change.pitman_shift,
    )
    steered = Rod(straight.inner + change.pitman_shift * LEFT, straight.outer, straight.length)
    axle = axle_of(points, change.lowered_by if rolling else None)
    motion = axle_motion(axle, travel, steered)
    for ours, theirs, mirror in zip(
        (motion.left, motion.right), sweeps, (np.ones(3), MIRROR), strict=True
    ):
        assert (ours.reach == Reach.REACHED).all()
        for angle in (toe_angle, camber_angle):
            np.testing.assert_allclose(
                np.degrees(angle(ours.rotation @ (SPIN * mirror) * mirror)),
                np.degrees(angle(theirs.rotation @ (SPIN * mirror) * mirror)),
                rtol=0,
                atol=ANGLE_ATOL_DEG,
            )
        for point in ("wheel_center", "cross_rod_end", "kingpin_upper"):
            at = points[point] * mirror
            np.testing.assert_allclose(
                ours.moved(at), theirs.world(at), rtol=0, atol=LENGTH_ATOL_MM
            )


@pytest.mark.parametrize("rolling", [False, True], ids=["heave", "roll"])
@pytest.mark.parametrize(("block", "longer"), [(50.0, 0.0), (0.0, 25.0), (-20.0, -15.0)])
@pytest.mark.parametrize("car", LEAF_CARS)
def test_a_lift_block_and_another_shackle_do_what_they_do_in_the_multibody_library(
    car, block, longer, rolling
):
    points, travel = AXLE_CARS[car], 0.6 * TRAVEL - 30.0
    rod = rod_between(points["drag_link_inner"], points["drag_link_outer"])
    left, _ = multibody_axle_sweep(
        points,
        (rod.inner, rod.outer, float(rod.length)),
        np.stack([travel, -60.0 - travel if rolling else travel], axis=-1),
        lift_block=block,
        shackle_longer=longer,
    )
    axle = axle_of(points, -30.0 if rolling else None)
    fitted = replace(axle, lift_block=block, shackle_longer=longer)
    motion = axle_motion(fitted, travel, rod).left
    assert (motion.reach == Reach.REACHED).all()
    np.testing.assert_allclose(
        motion.rotation, left.rotation, rtol=0, atol=np.radians(ANGLE_ATOL_DEG)
    )
    assert np.abs(motion.rotation - axle_motion(axle, travel, rod).left.rotation).max() > 1e-3


@CARS
def test_a_drag_link_cut_to_the_toe_held_pose_gives_that_toe_in_the_multibody_library(car):
    points = AXLE_CARS[car]
    height, wanted = np.array([40.0]), np.radians([0.25])
    held = toe_held_motion(axle_of(points), height, SPIN, wanted)
    assert (held.reach == Reach.REACHED).all()
    inner, outer = points["drag_link_inner"], points["drag_link_outer"] + 20.0 * DOWN
    length = float(np.linalg.norm(held.moved(outer) - inner))
    left, _ = multibody_axle_sweep(points, (inner, outer, length), np.array([[40.0, 40.0]]))
    np.testing.assert_allclose(
        np.degrees(toe_angle(left.rotation @ SPIN)), 0.25, rtol=0, atol=ANGLE_ATOL_DEG
    )


@pytest.mark.parametrize("rolling", [False, True], ids=["heave", "roll"])
@pytest.mark.parametrize("way", [+1.0, -1.0], ids=["bump", "droop"])
def test_the_multibody_library_loses_the_axle_where_our_motion_ends(way, rolling):
    points = AXLE_CARS["trailing links ahead, cross rod ahead, drag link behind"]
    rod = rod_between(points["drag_link_inner"], points["drag_link_outer"])
    heights = way * np.arange(0.0, 701.0, 5.0)
    motion = axle_motion(axle_of(points, 0.0 if rolling else None), heights, rod).right
    reached = motion.reach == Reach.REACHED
    last = int(np.flatnonzero(reached)[-1])
    assert reached[: last + 1].all()
    assert last + 1 < len(heights)
    bare_rod = (rod.inner, rod.outer, float(rod.length))
    rises = np.stack([heights, -heights if rolling else heights], axis=-1)
    _, right = multibody_axle_sweep(points, bare_rod, rises[: last + 1])
    np.testing.assert_allclose(
        right.rotation, motion.rotation[: last + 1], rtol=0, atol=np.radians(ANGLE_ATOL_DEG)
    )
    with pytest.raises(exu.SolverError, match="terminated due to errors"):
        multibody_axle_sweep(points, bare_rod, rises[: last + 2])
