"""A beam axle and its knuckles, by Newton: hand cases, what is kept, and where the motion ends."""

import numpy as np
import pytest

from geometry.axle_motion import axle_motion, toe_held_axle_motion
from geometry.linkages.closure import rod_closure, toe_held_closure
from geometry.motion import Motion, Reach, Rod, rod_motion, toe_held_motion
from geometry.pivot_fit import fitted_outer
from geometry.toe_held import (
    estimate_error_rate,
    rod_length_needed,
    toe_error,
    toe_error_estimate,
    toe_held_poses,
)
from geometry.vectors import rotation_about
from geometry.virtual_axis import measured_axis
from geometry.wheel_angles import camber_angle, spin_axis, toe_angle

from .axle_cars import AXLE_CARS, axle_of
from .corners import corner_points, rod_between

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
TOE_ERROR_ATOL_DEG = 1e-10  # two ways to one pose that share their residual
# Central differences of a step of 1e-3 mm on a smooth function of some 300 mm.
DIFFERENCE_STEP_MM, DIFFERENCE_ATOL = 1e-3, 1e-7

MIRROR = np.array([1.0, -1.0, 1.0])
LEFT = np.array([0.0, 1.0, 0.0])
DOWN = np.array([0.0, 0.0, -1.0])
SPIN = spin_axis(np.radians(0.15), np.radians(-1.2))
TRAVEL = np.linspace(-80.0, 80.0, 17)
TOE = np.radians(np.linspace(-0.4, 0.3, 17))
FAR = np.arange(-700.0, 701.0, 20.0)
CARS = pytest.mark.parametrize("car", AXLE_CARS)
ABOUT = pytest.mark.parametrize("about", [None, 0.0, 40.0], ids=["heave", "roll", "lowered, roll"])


def drag_link(points, longer_by=0.0) -> Rod:
    return rod_between(points["drag_link_inner"], points["drag_link_outer"], longer_by)


def followed(car, travel, longer_by=0.0, about=None):
    points = AXLE_CARS[car]
    return axle_motion(axle_of(points, about), travel, drag_link(points, longer_by))


def toe_deg(motion: Motion, spin=LEFT, mirror=1.0):
    """Toe of the left wheel, or of the right one if `mirror` says so, from the left spin axis."""
    return np.degrees(toe_angle((motion.rotation @ (spin * mirror)) * mirror))


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


# ---- hand cases ----

FLAT_AXLE = {
    "link_2_inner": [-900, 420, 320],
    "link_2_outer": [-50, 420, 320],
    "link_3_inner": [-900, -420, 320],
    "link_3_outer": [-50, -420, 320],
    "link_4_inner": [-860, 60, 500],
    "link_4_outer": [-10, 60, 500],
    "kingpin_lower": [0, 690, 270],
    "kingpin_upper": [0, 690, 440],
    "cross_rod_end": [-150, 640, 300],
    "wheel_center": [0, 800, 360],
}


def flat_axle(lateral_link):
    """Three equal level links run lengthwise, the kingpins stand upright."""
    inner, outer = lateral_link
    return axle_of(corner_points({**FLAT_AXLE, "link_1_inner": inner, "link_1_outer": outer}))


@pytest.mark.parametrize("lateral", [[0.0, 860.0, 0.0], [35.0, 840.0, -130.0]])
def test_no_heave_steer_where_the_drag_link_is_an_equal_parallel_copy_of_the_lateral_link(lateral):
    """The beam swings on parallel links without turning, and carries the drag link along."""
    start, pitman = np.array([80.0, -410.0, 480.0]), np.array([160.0, -240.0, 530.0])
    axle = flat_axle((start, start + lateral))
    motion = axle_motion(axle, TRAVEL, rod_between(pitman, pitman + lateral))
    for part in (motion.left, motion.right, motion.beam):
        np.testing.assert_allclose(
            np.degrees(part.rotation - np.eye(3)), 0.0, rtol=0, atol=ANGLE_ATOL_DEG
        )
    np.testing.assert_allclose(toe_deg(motion.left), 0.0, rtol=0, atol=ANGLE_ATOL_DEG)
    np.testing.assert_allclose(toe_deg(motion.right, LEFT, MIRROR), 0.0, rtol=0, atol=1e-9)
    sideways = motion.beam.translation[:, 1]
    assert np.abs(sideways).max() > 1.0  # it is carried sideways, and still does not steer


@pytest.mark.parametrize("climb", [-200.0, -60.0, 90.0, 200.0])
@pytest.mark.parametrize("arm", [150.0, -150.0], ids=["arm ahead", "arm behind"])
def test_a_steep_drag_link_steers_a_level_axle_as_the_front_view_says(climb, arm):
    """In bump the lateral link takes the axle straight up, the drag link its end by climb/width.

    The outer end of a drag link that climbs outward swings inboard in bump, toward the car; an arm
    ahead of the axle then turns the wheel's nose inboard, which is toe-in::

                       o  drag link outer        rate of the end = -climb / width
               pitman /                          rate of toe     = -rate of the end / arm
                     o---- width ----
    """
    outer, width = np.array([arm, 690.0, 400.0]), 800.0
    axle = flat_axle(([60.0, -440.0, 300.0], [60.0, 430.0, 300.0]))
    link = rod_between(outer - np.array([0.0, width, climb]), outer)
    step = np.array([-0.01, 0.01])
    motion = axle_motion(axle, step, link)
    slope = np.diff(np.radians(toe_deg(motion.left)))[0] / 0.02
    other = np.diff(np.radians(toe_deg(motion.right, LEFT, MIRROR)))[0] / 0.02
    # Links of some 900 mm leave out terms of (0.01 / 900)^2.
    assert slope == pytest.approx(climb / width / arm, rel=1e-6)
    assert other == pytest.approx(-slope, rel=1e-6)  # the cross rod takes the other wheel along
    far = axle_motion(axle, np.array([60.0]), link)
    assert np.sign(toe_deg(far.left)[0]) == np.sign(climb * arm)
    assert abs(toe_deg(far.left)[0]) > 1.0


@pytest.mark.parametrize("wheel_height", [360.0, 300.0])
def test_an_axle_whose_links_all_end_on_one_lengthwise_line_rolls_about_it_unsteered(wheel_height):
    """Links, drag link and wheels turn as one body; the pitman ball too is on the line."""
    roll = np.radians(np.array([-6.0, -2.5, 0.0, 3.0, 6.0]))
    points = {
        "link_1_inner": [70, 0, 360],
        "link_1_outer": [60, 480, 330],
        "link_2_inner": [-800, 0, 360],
        "link_2_outer": [-60, 440, 320],
        "link_3_inner": [-640, 0, 360],
        "link_3_outer": [-60, -460, 300],
        "link_4_inner": [-700, 0, 360],
        "link_4_outer": [0, -180, 520],
        "kingpin_lower": [10, 702, 270],
        "kingpin_upper": [-12, 680, 440],
        "cross_rod_end": [-160, 650, 320],
        "wheel_center": [0, 800, wheel_height],
    }
    above = wheel_height - 360.0
    sink = above * (np.cos(roll) - 1.0)  # of the middle between the wheels
    axle = axle_of(corner_points(points), sink)
    link = rod_between(np.array([150.0, 0.0, 360.0]), np.array([150.0, 640.0, 400.0]))
    motion = axle_motion(axle, 800.0 * np.sin(roll) + sink, link)
    expected = rotation_about(np.array([1.0, 0.0, 0.0]), roll)
    for part in (motion.left, motion.right, motion.beam):
        np.testing.assert_allclose(
            np.degrees(part.rotation), np.degrees(expected), rtol=0, atol=ANGLE_ATOL_DEG
        )
    spin = motion.left.rotation @ LEFT
    np.testing.assert_allclose(
        np.degrees(camber_angle(spin)), -np.degrees(roll), rtol=0, atol=ANGLE_ATOL_DEG
    )


@pytest.mark.parametrize("shift", [-60.0, -25.0, 30.0, 55.0])
@pytest.mark.parametrize("rod_end", [[-150.0, 640.0, 300.0], [160.0, 725.0, 290.0]])
def test_the_cross_rod_turns_the_other_wheel_as_two_circles_in_plan_view_say(shift, rod_end):
    """On upright kingpins the axle stays where it is and only the plan view counts."""
    points = corner_points({**FLAT_AXLE, "cross_rod_end": rod_end})
    points |= corner_points({"link_1_inner": [60, -440, 300], "link_1_outer": [60, 430, 300]})
    link = rod_between(np.array([150.0, -240.0, 400.0]), np.array([150.0, 690.0, 400.0]))
    steered = Rod(link.inner + shift * LEFT, link.outer, link.length)
    motion = axle_motion(axle_of(points), np.zeros(1), steered)

    pins, length = (690.0j, -690.0j), 2.0 * rod_end[1]
    arm = complex(*rod_end[:2]) - pins[0]
    turn = complex(*motion.left.rotation[0, :2, 0])
    here = pins[0] + arm * turn
    apart = pins[1] - here
    along = (length**2 + abs(apart) ** 2 - abs(arm) ** 2) / (2.0 * abs(apart))
    aside = np.sqrt(length**2 - along**2)
    ends = [here + apart / abs(apart) * (along + way * aside) for way in (1.0j, -1.0j)]
    straight = arm.conjugate()
    other = min(((end - pins[1]) / straight for end in ends), key=lambda each: abs(each - turn))
    assert abs(np.angle(turn)) > np.radians(5.0)
    np.testing.assert_allclose(
        np.degrees(np.angle(complex(*motion.right.rotation[0, :2, 0]))),
        np.degrees(np.angle(other)),
        rtol=0,
        atol=ANGLE_ATOL_DEG,
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

    for number in range(1, 5):
        end = points[f"link_{number}_outer"]
        np.testing.assert_allclose(
            length(motion.beam.moved(end), number), length(end, number), rtol=0, atol=1e-9
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


# ---- one residual ----


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
    off = np.random.default_rng(0).uniform(-40.0, 40.0, (17, 8))
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
    for k in (0, 20, 32, 35, 38, 60):
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


@CARS
def test_a_fitted_pivot_steers_itself_far_less_than_the_standard_seat(car):
    points, travel = AXLE_CARS[car], np.linspace(-60.0, 60.0, 13)
    axle, toe = axle_of(points), np.full(13, np.radians(0.1))
    poses = toe_held_poses(axle, travel, SPIN, toe, 6)
    seat, inner = points["drag_link_outer"], points["drag_link_inner"]
    fitted = fitted_outer(poses, seat, inner, np.eye(3), pull=1e-7).point

    def peak(outer):
        length = rod_length_needed(poses, outer[None], inner[None])[0, 6]
        motion = rod_motion(axle, travel, Rod(inner, outer, length))
        return np.abs(toe_angle(motion.rotation @ SPIN) - toe).max()

    assert peak(fitted) < 0.1 * peak(seat)


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
