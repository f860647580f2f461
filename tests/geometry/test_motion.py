"""The upright's motion: what it keeps exactly, and where and why it ends."""

import numpy as np
import pytest

from geometry.motion import Motion, Reach, rod_motion, toe_held_motion
from geometry.wheel_angles import spin_axis

from .corners import corner_points, linkage_of, rod_between
from .printed import published

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9

ANCHORS = published("corner_anchors")
LAYOUTS = ["strut", "double_wishbone"]
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL = np.linspace(-80.0, 80.0, 33)
FAR = np.arange(-400.0, 401.0, 10.0)
STEPS_LOST = 0  # secant steps that leave every height to the fallback


def points_of(name):
    return corner_points(ANCHORS[name]["points"])


def linkage_named(name, drop=0.0):
    return linkage_of(ANCHORS[name]["layout"], points_of(name), drop)


def rod_of(name, longer_by=0.0):
    points = points_of(name)
    return rod_between(points["tie_rod_inner"], points["tie_rod_outer"], longer_by)


def held(name, travel, toe_deg=0.0, drop=0.0) -> Motion:
    toe = np.full(np.shape(travel), np.radians(toe_deg))
    return toe_held_motion(linkage_named(name, drop), travel, SPIN, toe)


def followed(name, travel, longer_by=0.0, drop=0.0) -> Motion:
    return rod_motion(linkage_named(name, drop), travel, rod_of(name, longer_by))


MOTIONS = {"on the rod": followed, "toe held": held}


@pytest.mark.parametrize("motion_of", MOTIONS.values(), ids=MOTIONS.keys())
@pytest.mark.parametrize("drop", [0.0, 30.0])
@pytest.mark.parametrize("name", LAYOUTS)
def test_the_wheel_center_rises_by_exactly_the_wanted_travel(name, drop, motion_of):
    center = points_of(name)["wheel_center"]
    motion = motion_of(name, TRAVEL, drop=drop)
    assert (motion.reach == Reach.REACHED).all()
    rise = motion.moved(center)[:, 2] - center[2]
    np.testing.assert_allclose(rise, TRAVEL, rtol=0, atol=LENGTH_ATOL_MM)


@pytest.mark.parametrize("motion_of", MOTIONS.values(), ids=MOTIONS.keys())
@pytest.mark.parametrize("name", LAYOUTS)
def test_where_steps_fail_halving_finds_the_same_pose(name, motion_of, monkeypatch):
    by_steps = motion_of(name, TRAVEL)
    monkeypatch.setattr("geometry.motion.STEPS", STEPS_LOST)
    by_halving = motion_of(name, TRAVEL)
    assert (by_halving.reach == Reach.REACHED).all()
    np.testing.assert_allclose(
        np.degrees(by_halving.rotation),
        np.degrees(by_steps.rotation),
        rtol=0,
        atol=ANGLE_ATOL_DEG,
    )
    np.testing.assert_allclose(
        by_halving.translation, by_steps.translation, rtol=0, atol=LENGTH_ATOL_MM
    )


@pytest.mark.parametrize("motion_of", MOTIONS.values(), ids=MOTIONS.keys())
@pytest.mark.parametrize("name", LAYOUTS)
def test_where_steps_fail_halving_ends_at_the_same_heights_for_the_same_reasons(
    name, motion_of, monkeypatch
):
    by_steps = motion_of(name, FAR)
    reached = FAR[by_steps.reach == Reach.REACHED]
    # The last stretch of bump is left out: a wheel folded that far under the car rises less the
    # farther its arm swings, and halving needs a rise that grows.
    judged = np.abs(FAR - reached[-1]) > 20.0
    monkeypatch.setattr("geometry.motion.STEPS", STEPS_LOST)
    np.testing.assert_array_equal(motion_of(name, FAR).reach[judged], by_steps.reach[judged])


# ---- where a motion ends ----


@pytest.mark.parametrize("motion_of", MOTIONS.values(), ids=MOTIONS.keys())
@pytest.mark.parametrize("name", LAYOUTS)
def test_the_heights_within_reach_are_one_stretch_about_the_measured_height(name, motion_of):
    reached = FAR[motion_of(name, FAR).reach == Reach.REACHED]
    assert reached[0] < 0.0 < reached[-1]
    np.testing.assert_array_equal(np.diff(reached), 10.0)


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_rod_is_blamed_only_where_the_arms_could_still_be_joined(name):
    """A short rod runs out of length long before the arms do."""
    height = np.array(-100.0)
    assert followed(name, height, longer_by=-90.0).reach == Reach.ROD_ENDS
    assert held(name, height).reach == Reach.REACHED


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_arms_are_blamed_where_no_rod_helps(name):
    toes = np.linspace(-20.0, 20.0, 5)
    for height in (-400.0, 400.0):
        motion = toe_held_motion(linkage_named(name), np.array(height), SPIN, np.radians(toes))
        assert (motion.reach == Reach.ARMS_END).all()
    longer_by = np.linspace(-20.0, 60.0, 9)
    assert not (followed(name, np.array(-400.0), longer_by).reach == Reach.REACHED).any()
    assert followed(name, np.array(-400.0)).reach == Reach.ARMS_END
