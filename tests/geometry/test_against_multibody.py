"""Our motion of a corner against a general-purpose multibody library (exudyn).

The library solves rigid bodies and joints numerically; it shares no formula with our closed forms,
and no unknown and no solver with our Newton.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from geometry.motion import Reach, Rod, rod_motion, toe_held_motion
from geometry.wheel_angles import camber_angle, spin_axis, toe_angle

from .corners import linkage_of, rod_between
from .every_corner import ANCHORS, ON_ARMS
from .link_cars import LINK_CARS
from .multibody import exu, multibody_sweep
from .printed import half_last_digit, numbers

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

CORNERS = ON_ARMS | LINK_CARS
TRAVEL = np.linspace(-80.0, 80.0, 17)
DOWN, LEFT = np.array([0.0, 0.0, -1.0]), np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True)
class Change:
    """What was changed on the car after it was measured. [mm]"""

    lowered_by: float = 0.0
    outer_drop: float = 0.0
    rack_raise: float = 0.0
    rod_longer_by: float = 0.0
    rack_travel: float = 0.0
    ball_joint_drop: float = 0.0


CHANGES = {
    "as measured": Change(),
    "lowered": Change(lowered_by=40.0),
    "outer pivot shimmed down, rod shortened": Change(outer_drop=20.0, rod_longer_by=-1.3),
    "rack raised, rod lengthened": Change(rack_raise=6.0, rod_longer_by=2.4),
    "lower ball joint extended": Change(ball_joint_drop=30.0),
    "steered left": Change(rack_travel=30.0),
    "steered right": Change(rack_travel=-30.0),
    "everything at once, steered left": Change(40.0, 20.0, 6.0, 2.4, 30.0, 30.0),
    "everything at once, steered right": Change(40.0, 20.0, -6.0, -1.3, -30.0, 30.0),
}
# A wheel that is not square to the car as measured, so that every entry of the rotation counts.
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))


def both_sweeps(name, change):
    """The library's sweep, our motion, and the points of the corner; links have no ball joint."""
    layout, points = CORNERS[name]
    if name not in ON_ARMS:
        change = replace(change, ball_joint_drop=0.0)
    heights = TRAVEL + change.lowered_by
    straight = rod_between(
        points["tie_rod_inner"] - change.rack_raise * DOWN,
        points["tie_rod_outer"] + change.outer_drop * DOWN,
        change.rod_longer_by,
    )
    sweep = multibody_sweep(
        layout,
        points,
        (straight.inner, straight.outer, float(straight.length)),
        heights,
        rack_travel=change.rack_travel,
        ball_joint_drop=change.ball_joint_drop,
    )
    steered = Rod(straight.inner + change.rack_travel * LEFT, straight.outer, straight.length)
    motion = rod_motion(linkage_of(layout, points, change.ball_joint_drop), heights, steered)
    assert (motion.reach == Reach.REACHED).all()
    return sweep, motion, points


@pytest.mark.parametrize("name", ON_ARMS)
def test_the_library_itself_gives_the_computed_anchors(name):
    layout, points = ON_ARMS[name]
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    rows = ANCHORS[name]["rows"]
    sweep = multibody_sweep(
        layout, points, (rod.inner, rod.outer, float(rod.length)), numbers(rows)[:, 0]
    )
    spin = sweep.rotation[:, :, 1]
    # The strut's top mount stays in the chassis; the other joints go with the upright.
    top = points["strut_top"] if name == "strut" else sweep.world(points["upper_ball_joint"])
    axis = top - sweep.world(points["lower_ball_joint"])
    shift = sweep.wheel_center - points["wheel_center"]
    found = np.stack(
        [
            shift[:, 2],
            np.degrees(np.arctan2(spin[:, 0], spin[:, 1])),
            np.degrees(np.arctan2(-spin[:, 2], spin[:, 1])),
            np.degrees(np.arcsin(-spin[:, 2])),
            np.degrees(np.arctan2(-axis[:, 0], axis[:, 2])),
            np.degrees(np.arctan2(-axis[:, 1], axis[:, 2])),
            shift[:, 0],
            shift[:, 1],
        ],
        axis=-1,
    )
    assert (np.abs(found - numbers(rows)) <= half_last_digit(rows) + LENGTH_ATOL_MM).all()


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
@pytest.mark.parametrize("name", CORNERS)
def test_toe_and_camber_are_those_of_the_multibody_library(name, change):
    sweep, motion, _ = both_sweeps(name, change)
    ours, theirs = motion.rotation @ SPIN, sweep.rotation @ SPIN
    for angle in (toe_angle, camber_angle):
        np.testing.assert_allclose(
            np.degrees(angle(ours)), np.degrees(angle(theirs)), rtol=0, atol=ANGLE_ATOL_DEG
        )


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
@pytest.mark.parametrize("name", CORNERS)
def test_points_of_the_upright_are_where_the_multibody_library_puts_them(name, change):
    sweep, motion, points = both_sweeps(name, change)
    for point in {"wheel_center", "lower_ball_joint", "link_1_outer", "tie_rod_outer"} & set(
        points
    ):
        np.testing.assert_allclose(
            motion.moved(points[point]), sweep.world(points[point]), rtol=0, atol=LENGTH_ATOL_MM
        )


@pytest.mark.parametrize(
    ("name", "drop"), [*((name, 0.0) for name in CORNERS), *((name, 30.0) for name in ON_ARMS)]
)
def test_a_rod_cut_to_the_toe_held_pose_gives_that_toe_in_the_multibody_library(name, drop):
    layout, points = CORNERS[name]
    height, wanted = np.array([40.0]), np.radians([0.25])
    held = toe_held_motion(linkage_of(layout, points, drop), height, SPIN, wanted)
    inner, outer = points["tie_rod_inner"], points["tie_rod_outer"] + 20.0 * DOWN
    length = float(np.linalg.norm(held.moved(outer) - inner))
    sweep = multibody_sweep(layout, points, (inner, outer, length), height, ball_joint_drop=drop)
    np.testing.assert_allclose(
        np.degrees(toe_angle(sweep.rotation @ SPIN)), 0.25, rtol=0, atol=ANGLE_ATOL_DEG
    )
    assert (held.reach == Reach.REACHED).all()


@pytest.mark.parametrize("way", [+1.0, -1.0], ids=["bump", "droop"])
@pytest.mark.parametrize("name", CORNERS)
def test_the_multibody_library_loses_the_corner_where_our_motion_ends(name, way):
    layout, points = CORNERS[name]
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    heights = way * np.arange(0.0, 601.0, 5.0)
    motion = rod_motion(linkage_of(layout, points), heights, rod)
    reached = motion.reach == Reach.REACHED
    last = int(np.flatnonzero(reached)[-1])
    assert reached[: last + 1].all()
    assert last + 1 < len(heights)
    bare_rod = (rod.inner, rod.outer, float(rod.length))
    sweep = multibody_sweep(layout, points, bare_rod, heights[: last + 1])
    np.testing.assert_allclose(
        sweep.rotation, motion.rotation[: last + 1], rtol=0, atol=np.radians(ANGLE_ATOL_DEG)
    )
    with pytest.raises(exu.SolverError, match="terminated due to errors"):
        multibody_sweep(layout, points, bare_rod, heights[: last + 2])
