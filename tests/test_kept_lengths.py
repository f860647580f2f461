"""What the linkage of any car keeps: lengths, lines and the pose it was measured in."""

from copy import deepcopy
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings

from geometry.motion import toe_held_motion
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.models.curve import CurveRequest
from tests.optimizer.one_wheel import curve_of
from tests.random_cars import cars, case_of, changes, settings_of

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
TURN_ATOL = 1e-12  # how far a rotation matrix may be from one

RACKS = [-60.0, -20.0, 0.0, 35.0, 60.0]


def distances(points: Any, others: Any) -> Any:
    return np.linalg.norm(points - others, axis=-1)


def no_toe_suits_the_rod(evaluator: Evaluator, chosen: Settings, height: float, rack: float) -> Any:
    """Whether at every toe tried the rod is too short for its pivots, or at every one too long.

    The toes are held, so the poses are found without a rod.
    """
    toe = np.radians(np.linspace(-80.0, 80.0, 1601))
    linkage = evaluator.corner.linkage(chosen.linkage[0])
    lifted = np.full(toe.shape, height + evaluator.case.ride.lowered_by)
    held = toe_held_motion(linkage, lifted, evaluator.corner.spin, toe)
    (outer,), (inner,) = evaluator.corner.pivots(chosen)
    apart = distances(held.moved(outer), inner + rack * evaluator.corner.rack_axis)
    longer = apart[held.reach == 0] > evaluator.rod_length(chosen)[0]
    return longer.size and longer.all() == longer.any()


# At 60 deg of steer its rod is 0.04 mm too short for full droop at one lock.
AT_ITS_LOCK = {
    "format": 1,
    "name": "A strut car at its lock",
    "units": "mm",
    "layout": "strut",
    "points": {
        "lower_arm_front": [160.02, 365.76, 205.74],
        "lower_arm_rear": [-190.5, 350.52, 213.36],
        "lower_ball_joint": [-9.59, 745.41, 190.5],
        "strut_top": [-39.18, 574.04, 830.58],
        "strut_axis": [-5.08, 638.09, 401.32],
        "tie_rod_inner": [-115.54, 331.98, 266.7],
        "tie_rod_outer": [-113.57, 697.91, 261.62],
        "wheel_center": [5.08, 769.62, 317.35],
    },
    "wheel": {"toe_deg": 0.44, "camber_deg": -3.0, "tire_radius": 310.0},
    "ride": {"lowered_by": -20.0, "bump": 20.0, "droop": 20.0, "toe_deg": -0.3},
    "steering": {"rack_axis": [-0.09, 1.0, -0.2], "rack_travel": 60.0},
    "outer_pivot": {"stud_axis": [0.04, -0.16, -1.0]},
}


@settings(max_examples=40, deadline=None)
@given(table=cars(), change=changes)
@example(table=AT_ITS_LOCK, change=CurveRequest(outer_drop=2.79))
def test_every_length_of_the_linkage_is_kept_at_every_height_and_rack_position(table, change):
    case = case_of(table)
    evaluator, chosen = Evaluator.of(case), settings_of(change)
    corner, points = evaluator.corner, evaluator.corner.points
    racks, travel = (grid.ravel() for grid in np.meshgrid(RACKS, evaluator.travel))
    motion = evaluator.motion(chosen, travel, racks)
    # Links of their own may end the lock sooner; on arms only a rod that is too short does.
    there = motion.reach[0] == 0
    assert there[np.abs(racks) < 30.0].all()
    if "lower_ball_joint" in points:
        for rack, height in zip(racks[~there], travel[~there], strict=True):
            assert no_toe_suits_the_rod(evaluator, chosen, height, rack)
    motion = evaluator.motion(chosen, travel[there], racks[there])
    racks = racks[there]

    upright = motion.rotation[0]
    np.testing.assert_allclose(
        upright @ np.swapaxes(upright, -1, -2),
        np.broadcast_to(np.eye(3), upright.shape),
        rtol=0,
        atol=TURN_ATOL,
    )
    (outer,), (inner,) = corner.pivots(chosen)
    steered = inner + racks[:, None] * corner.rack_axis
    kept = [(motion.moved(outer), steered, evaluator.rod_length(chosen)[0])]
    if "lower_ball_joint" in points:
        joint = points["lower_ball_joint"]
        extended = joint - corner.drops[0] * np.array([0.0, 0.0, 1.0])
        pivots = (points["lower_arm_front"], points["lower_arm_rear"])
        kept += [(motion.moved(extended), pivot, distances(joint, pivot)) for pivot in pivots]
    carrier = motion if motion.beam is None else motion.beam
    for number in corner.link_numbers:
        at_chassis, at_upright = corner.link(number, chosen.linkage[0])
        length = distances(at_upright, at_chassis)
        kept.append((carrier.moved(at_upright), at_chassis, length))
    if corner.on_leaves:
        axle, beam = corner.linkage(), motion.beam
        now = axle.leaf(beam.rotation[0], beam.moved(axle.center)[0])
        measured = axle.leaf(np.eye(3), axle.center)
        for k in (0, 1, 2, 3):  # link, clamped middle, link, shackle
            length = distances(measured[k], measured[k + 1])
            kept.append((now[:, k], now[:, k + 1], length))
    if motion.other_wheel is not None:
        end, mirror = points["cross_rod_end"], [1.0, -1.0, 1.0]
        across = motion.other_wheel.moved(end * mirror)
        kept.append((motion.moved(end), across, distances(end, end * mirror)))
    if case.layout == "double-wishbone":
        upper = points["upper_ball_joint"]
        pivots = (points["upper_arm_front"], points["upper_arm_rear"])
        kept += [(motion.moved(upper), pivot, distances(upper, pivot)) for pivot in pivots]
    for moving, fixed, length in kept:
        np.testing.assert_allclose(distances(moving, fixed), length, rtol=0, atol=LENGTH_ATOL_MM)

    if "strut_top" in points:
        top, second = points["strut_top"], motion.moved(points["strut_axis"])
        along = motion.moved(top) - second
        along /= np.linalg.norm(along, axis=-1)[..., None]
        off_line = np.linalg.norm(np.cross(top - second, along), axis=-1)
        np.testing.assert_allclose(off_line, 0.0, rtol=0, atol=LENGTH_ATOL_MM)


@settings(max_examples=40, deadline=None)
@given(table=cars())
def test_without_any_change_nothing_moves_at_the_measured_height(table):
    table = deepcopy(table)
    table["ride"] |= {"lowered_by": 0.0, "toe_deg": table["wheel"]["toe_deg"]}
    table.pop("lower_ball_joint", None)
    evaluator = Evaluator.of(case_of(table))
    motion = evaluator.motion(Settings.single(), np.zeros(1))
    np.testing.assert_allclose(motion.rotation[0, 0], np.eye(3), rtol=0, atol=TURN_ATOL)
    np.testing.assert_allclose(motion.translation[0, 0], 0.0, rtol=0, atol=LENGTH_ATOL_MM)
    followed = curve_of(evaluator.case)
    home = followed.travel_mm.index(0.0)
    wheel = evaluator.case.wheel
    assert followed.toe_deg[home] == pytest.approx(wheel.toe_deg, rel=0, abs=ANGLE_ATOL_DEG)
    assert followed.camber_deg[home] == pytest.approx(wheel.camber_deg, rel=0, abs=ANGLE_ATOL_DEG)
    assert followed.tie_rod_length_change_mm == pytest.approx(0.0, abs=LENGTH_ATOL_MM)
    assert followed.half_track_change_mm[home] == 0.0
