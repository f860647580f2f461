"""Many cars in one product, against each car by itself with the exact rod."""

import numpy as np
import pytest

from geometry.linkages import DoubleWishbone
from geometry.toe_held import toe_error, toe_held_poses
from geometry.toe_held_cars import (
    HeldWheels,
    height_nodes,
    onto_heights,
    peak_toe_errors,
    toe_errors,
    toe_held_cars,
)
from geometry.vectors import unit

POINTS = {
    "lower_arm_front": (140.0, 390.0, 165.0),
    "lower_arm_rear": (-160.0, 410.0, 155.0),
    "lower_ball_joint": (5.0, 730.0, 150.0),
    "upper_arm_front": (110.0, 450.0, 420.0),
    "upper_arm_rear": (-130.0, 460.0, 410.0),
    "upper_ball_joint": (-15.0, 690.0, 440.0),
    "wheel_center": (0.0, 760.0, 290.0),
}
ROD = np.array([[-130.0, 700.0, 200.0], [-110.0, 380.0, 195.0]])
SPIN = unit(np.array([0.01, 1.0, 0.02]))
TRAVEL = np.linspace(-60.0, 60.0, 13)
HOME = 6
GAIN = 1e-4  # wanted toe change per travel [rad/mm]
SETTINGS = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, -15.0], [3.0, -4.0, -8.0]])
SPACERS = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 6.0], [-2.0, 1.0, -5.0]])
# What a quadratic leaves out of toe over two degrees either way; a gauge tells 0.01 deg.
QUADRATIC_ATOL_DEG = 0.001


def cars(count, spread=2.0, travel=TRAVEL):
    errors = spread * np.random.default_rng(3).normal(size=(count, len(POINTS) + 2, 1, 3))
    linkages = {name: np.array(POINTS[name]) + errors[:, k] for k, name in enumerate(POINTS)}
    zero = {"ball_joint_drop": np.zeros(1), "drop_axis": np.array([0.0, 0.0, -1.0])}
    rod = [end + errors[:, len(POINTS) + k] for k, end in enumerate(ROD)]
    nodes = height_nodes(travel[0], travel[-1])
    of_toe = (nodes, GAIN * nodes, SPIN)
    many = toe_held_cars(
        HeldWheels(DoubleWishbone(**linkages, **zero), *of_toe, *rod),
        HeldWheels(DoubleWishbone(**{k: np.array(p) for k, p in POINTS.items()}), *of_toe, *ROD),
        onto_heights(nodes, np.append(0.0, travel)),
    )
    each = [DoubleWishbone(**{x: p[k, 0] for x, p in linkages.items()}) for k in range(count)]
    return many, each, [end[:, 0] for end in rod]


def changes(many):
    return np.concatenate([one for _, one in toe_errors(many, SETTINGS, SPACERS)], axis=1)


def test_every_setting_in_every_car_has_the_toe_error_that_it_has_by_itself():
    many, each, (outer, inner) = cars(20)
    found = changes(many)
    assert found.shape == (len(SETTINGS), 20, TRAVEL.size)
    for k, linkage in enumerate(each):
        poses = toe_held_poses(linkage, TRAVEL, SPIN, GAIN * TRAVEL, HOME)
        exact = toe_error(poses, outer[k] + SETTINGS, inner[k] + SPACERS)
        assert np.degrees(np.abs(exact).max()) > 0.05
        assert np.degrees(found[:, k]) == pytest.approx(
            np.degrees(exact), rel=0, abs=QUADRATIC_ATOL_DEG
        )


def test_the_peak_is_the_largest_error_over_the_heights():
    many, _, _ = cars(20)
    assert peak_toe_errors(many, SETTINGS, SPACERS) == pytest.approx(np.abs(changes(many)).max(2))


def test_a_car_that_cannot_be_led_over_the_travel_is_not_sound_and_has_no_error():
    many, _, _ = cars(40, travel=np.array([-330.0, 0.0, 330.0]))
    lost = ~many.sound
    assert lost.any()
    assert np.isnan(changes(many)[:, lost]).any(axis=2).all()


def test_cars_go_where_the_measured_one_cannot():
    many, _, _ = cars(40, travel=np.array([-240.0, 0.0, 60.0]))
    assert many.sound.any()
    assert np.isfinite(changes(many)[0, many.sound]).all()


def test_the_solved_heights_hold_both_ends_and_give_any_polynomial_back():
    nodes = height_nodes(-50.0, 70.0)
    assert (nodes[0], nodes[-1]) == (-50.0, 70.0)
    travel = np.linspace(-50.0, 70.0, 25)
    onto = onto_heights(nodes, travel)
    for power in range(nodes.size):
        assert onto @ (nodes / 50.0) ** power == pytest.approx((travel / 50.0) ** power)
    assert height_nodes(0.0, 0.0).tolist() == [0.0]
