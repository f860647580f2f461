"""One residual for all layouts: the closed forms satisfy it, and its Jacobian is exact."""

import numpy as np
import pytest

from geometry.linkages import LinkSet
from geometry.linkages.closure import rod_closure, toe_held_closure
from geometry.linkages.conditions import Pose
from geometry.motion import Reach, rod_motion, toe_held_motion
from geometry.wheel_angles import spin_axis

from .corners import corner_points, link_set_of, linkage_of, rod_between
from .link_cars import FIVE_LINK, LINK_CARS, TWIN_LINK_STRUT
from .printed import published

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
# Central differences of a step of 1e-3 mm on a smooth function of some 300 mm.
DIFFERENCE_STEP_MM, DIFFERENCE_ATOL = 1e-3, 1e-7

ANCHORS = published("corner_anchors")
ARMED = ["double_wishbone", "strut"]
TRAVEL = np.linspace(-80.0, 80.0, 17)
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TOE = np.radians(np.linspace(-0.4, 0.3, 17))
LEFT = np.array([0.0, 1.0, 0.0])
ALL_POINTS = {name: corner_points(ANCHORS[name]["points"]) for name in ARMED} | {
    "twin-link strut": TWIN_LINK_STRUT,
    "five-link": FIVE_LINK,
}


def linkage_and_links(name, drop=0.0):
    """What our motion takes, and the same as links."""
    if name in ARMED:
        linkage = linkage_of(ANCHORS[name]["layout"], ALL_POINTS[name], drop)
        return linkage, linkage.link_set()
    return (link_set_of(ALL_POINTS[name]),) * 2


def rod_of(name, rack_travel=0.0):
    points = ALL_POINTS[name]
    straight = rod_between(points["tie_rod_inner"], points["tie_rod_outer"], 0.8)
    return type(straight)(straight.inner + rack_travel * LEFT, straight.outer, straight.length)


def pose_of(motion, links):
    return Pose.rigid(motion.rotation, motion.moved(links.wheel_center))


def all_closures(name):
    links, rod = linkage_and_links(name)[1], rod_of(name)
    return {
        "rod": rod_closure(links, TRAVEL, rod.inner, rod.outer, rod.length),
        "toe": toe_held_closure(links, TRAVEL, SPIN, TOE),
    }


@pytest.mark.parametrize("rack_travel", [0.0, 30.0, -30.0])
@pytest.mark.parametrize("drop", [0.0, 30.0])
@pytest.mark.parametrize("name", ALL_POINTS)
def test_everything_closes_where_our_motion_puts_the_upright(name, drop, rack_travel):
    linkage, links = linkage_and_links(name, drop)
    rod = rod_of(name, rack_travel)
    motion = rod_motion(linkage, TRAVEL, rod)
    assert (motion.reach == Reach.REACHED).all()
    closure = rod_closure(links, TRAVEL, rod.inner, rod.outer, rod.length)
    residual, _ = closure.rows(pose_of(motion, links))
    assert residual.shape == (17, 6)
    np.testing.assert_allclose(residual, 0.0, rtol=0, atol=LENGTH_ATOL_MM)


@pytest.mark.parametrize("drop", [0.0, 30.0])
@pytest.mark.parametrize("name", ALL_POINTS)
def test_everything_closes_where_our_motion_holds_the_toe(name, drop):
    linkage, links = linkage_and_links(name, drop)
    motion = toe_held_motion(linkage, TRAVEL, SPIN, TOE)
    assert (motion.reach == Reach.REACHED).all()
    residual, _ = toe_held_closure(links, TRAVEL, SPIN, TOE).rows(pose_of(motion, links))
    np.testing.assert_allclose(residual, 0.0, rtol=0, atol=LENGTH_ATOL_MM)


@pytest.mark.parametrize("steer", ["rod", "toe"])
@pytest.mark.parametrize("name", ALL_POINTS)
def test_a_pose_that_is_off_leaves_something_open(name, steer):
    """Each of the six ways to be off is seen, so that a zero residual means a pose."""
    closure = all_closures(name)[steer]
    residual, jacobian = closure.rows(closure.measured)
    np.testing.assert_allclose(residual[:, 4], -TRAVEL, rtol=0, atol=LENGTH_ATOL_MM)
    assert (np.linalg.svd(jacobian)[1][..., -1] > 0.01).all()


@pytest.mark.parametrize("steer", ["rod", "toe"])
@pytest.mark.parametrize("name", ALL_POINTS)
def test_the_jacobian_is_what_differences_of_the_residual_show(name, steer):
    closure = all_closures(name)[steer]
    off = np.random.default_rng(0).uniform(-40.0, 40.0, (17, 6))
    pose = closure.measured.moved(off)
    _, jacobian = closure.rows(pose)
    for column in range(6):
        step = DIFFERENCE_STEP_MM * np.eye(6)[column]
        after, before = (closure.rows(pose.moved(way * step))[0] for way in (1.0, -1.0))
        np.testing.assert_allclose(
            jacobian[..., column],
            (after - before) / (2.0 * DIFFERENCE_STEP_MM),
            rtol=0,
            atol=DIFFERENCE_ATOL,
        )


def test_a_step_of_any_size_leaves_a_rotation():
    start = Pose.measured(np.zeros((50, 3)))
    step = np.random.default_rng(1).uniform(-900.0, 900.0, (50, 6))
    rotation = start.moved(step).moved(step).rotation
    np.testing.assert_allclose(
        rotation @ np.swapaxes(rotation, -1, -2), start.rotation, rtol=0, atol=1e-14
    )
    np.testing.assert_allclose(np.linalg.det(rotation), 1.0, rtol=0, atol=1e-14)


@pytest.mark.parametrize("drop", [0.0, 30.0])
@pytest.mark.parametrize("rack_travel", [0.0, 30.0, -30.0])
@pytest.mark.parametrize("name", ARMED)
def test_newton_on_the_links_of_the_arms_finds_the_closed_form(name, rack_travel, drop):
    linkage, links = linkage_and_links(name, drop)
    exact = rod_motion(linkage, TRAVEL, rod_of(name, rack_travel))
    found = rod_motion(links, TRAVEL, rod_of(name, rack_travel))
    np.testing.assert_allclose(
        np.degrees(found.rotation), np.degrees(exact.rotation), rtol=0, atol=ANGLE_ATOL_DEG
    )
    np.testing.assert_allclose(found.translation, exact.translation, rtol=0, atol=LENGTH_ATOL_MM)
    np.testing.assert_array_equal(found.reach, exact.reach)


@pytest.mark.parametrize("car", LINK_CARS)
def test_links_are_as_long_as_their_ends_are_apart_in_the_named_order(car):
    points = LINK_CARS[car][1]
    links = link_set_of(points)
    assert isinstance(links, LinkSet)
    for row in range(links.lengths.size):
        inner, outer = points[f"link_{row + 1}_inner"], points[f"link_{row + 1}_outer"]
        np.testing.assert_array_equal(links.chassis_ends[row], inner)
        np.testing.assert_array_equal(links.upright_ends[row], outer)
        assert links.lengths[row] == pytest.approx(np.linalg.norm(outer - inner), rel=1e-15)
