"""Our Newton motion of five-link and twin-link strut corners against a multibody library (exudyn).

The library knows rigid bodies and joints; it shares no formula, no unknown and no solver with ours.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from exudyn import SolverError

from geometry.motion import Reach, Rod, rod_motion, toe_held_motion
from geometry.wheel_angles import camber_angle, spin_axis, toe_angle

from .corners import link_set_of, rod_between
from .link_cars import LINK_CARS
from .multibody import multibody_sweep

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

TRAVEL = np.linspace(-80.0, 80.0, 17)
DOWN, LEFT = np.array([0.0, 0.0, -1.0]), np.array([0.0, 1.0, 0.0])
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
CARS = pytest.mark.parametrize("car", LINK_CARS)


@dataclass(frozen=True)
class Change:
    """What was changed on the car after it was measured. [mm]"""

    lowered_by: float = 0.0
    outer_drop: float = 0.0
    rod_longer_by: float = 0.0
    rack_travel: float = 0.0


CHANGES = {
    "as measured": Change(),
    "lowered": Change(lowered_by=40.0),
    "shimmed, rod shortened": Change(outer_drop=20.0, rod_longer_by=-1.3),
    "steered left": Change(rack_travel=30.0),
    "steered right": Change(rack_travel=-30.0),
    "everything at once, steered left": Change(40.0, 20.0, 2.4, 30.0),
    "everything at once, steered right": Change(40.0, 20.0, -1.3, -30.0),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
@CARS
def test_the_upright_is_where_the_multibody_library_puts_it(car, change):
    layout, points = LINK_CARS[car]
    heights = TRAVEL + change.lowered_by
    straight = rod_between(
        points["tie_rod_inner"],
        points["tie_rod_outer"] + change.outer_drop * DOWN,
        change.rod_longer_by,
    )
    sweep = multibody_sweep(
        layout,
        points,
        (straight.inner, straight.outer, float(straight.length)),
        heights,
        rack_travel=change.rack_travel,
    )
    steered = Rod(straight.inner + change.rack_travel * LEFT, straight.outer, straight.length)
    motion = rod_motion(link_set_of(points), heights, steered)
    assert (motion.reach == Reach.REACHED).all()
    for angle in (toe_angle, camber_angle):
        np.testing.assert_allclose(
            np.degrees(angle(motion.rotation @ SPIN)),
            np.degrees(angle(sweep.rotation @ SPIN)),
            rtol=0,
            atol=ANGLE_ATOL_DEG,
        )
    for point in ("wheel_center", "link_1_outer", "tie_rod_outer"):
        np.testing.assert_allclose(
            motion.moved(points[point]), sweep.world(points[point]), rtol=0, atol=LENGTH_ATOL_MM
        )


@CARS
def test_a_rod_cut_to_the_toe_held_pose_gives_that_toe_in_the_multibody_library(car):
    layout, points = LINK_CARS[car]
    height, wanted = np.array([40.0]), np.radians([0.25])
    held = toe_held_motion(link_set_of(points), height, SPIN, wanted)
    assert (held.reach == Reach.REACHED).all()
    inner, outer = points["tie_rod_inner"], points["tie_rod_outer"] + 20.0 * DOWN
    length = float(np.linalg.norm(held.moved(outer) - inner))
    sweep = multibody_sweep(layout, points, (inner, outer, length), height)
    np.testing.assert_allclose(
        np.degrees(toe_angle(sweep.rotation @ SPIN)), 0.25, rtol=0, atol=ANGLE_ATOL_DEG
    )


@pytest.mark.parametrize("way", [+1.0, -1.0], ids=["bump", "droop"])
@CARS
def test_the_multibody_library_loses_the_corner_where_our_motion_ends(car, way):
    layout, points = LINK_CARS[car]
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    heights = way * np.arange(0.0, 601.0, 5.0)
    motion = rod_motion(link_set_of(points), heights, rod)
    reached = motion.reach == Reach.REACHED
    last = int(np.flatnonzero(reached)[-1])
    assert reached[: last + 1].all()
    assert last + 1 < len(heights)
    bare_rod = (rod.inner, rod.outer, float(rod.length))
    sweep = multibody_sweep(layout, points, bare_rod, heights[: last + 1])
    np.testing.assert_allclose(
        sweep.rotation, motion.rotation[: last + 1], rtol=0, atol=np.radians(ANGLE_ATOL_DEG)
    )
    with pytest.raises(SolverError, match="terminated due to errors"):
        multibody_sweep(layout, points, bare_rod, heights[: last + 2])
