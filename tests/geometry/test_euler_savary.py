"""Aim at the instant center, end at the center of curvature: exact for a planar wishbone.

The planar double wishbone of tests/published, as the front view of one whose arms hinge on lines
along the car.  With toe held at zero its upright moves in that plane, so the rod's outer pivot runs
on a coupler curve.  A rod that ends where the Euler-Savary equation puts that curve's center of
curvature keeps its length to the second order; the workshop rule's length is another one.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from geometry.linkages import DoubleWishbone
from geometry.pivot_fit import fitted_inner
from geometry.side_effects import instant_center
from geometry.toe_curve import toe_curve
from geometry.toe_held import ToeHeldPoses, rod_length_needed, toe_error, toe_held_poses

from .printed import Array, half_last_digit, numbers, published

PLANAR = published("planar_double_wishbone")
ROWS = published("euler_savary")["table"]["rows"]
SCALE = 20.0  # mm for one unit of the printed linkage
HINGE = np.array([150.0, 0.0, 0.0])  # between an arm's pivots, to both sides
ARM_AHEAD = np.array([120.0, 0.0, 0.0])  # of the steering arm, ahead of the upright's plane
TRAVEL = 0.5 * np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
HOME = 2
LEFT = np.array([0.0, 1.0, 0.0])


def placed(point: object) -> Array:
    """A point of the printed plane, in millimeters in the car."""
    u, v = numbers(point)
    return SCALE * np.array([0.0, u, v])


@dataclass(frozen=True)
class Row:
    """A printed row, and the poses of its linkage about the printed pose, toe held at zero."""

    printed: list[object]
    poses: ToeHeldPoses

    @property
    def outer(self) -> Array:
        """The rod's outer pivot, on the steering arm."""
        return placed(self.printed[4]) + ARM_AHEAD

    @property
    def center(self) -> Array:
        """Inner pivot at the printed center of curvature."""
        return placed(self.printed[5]) + ARM_AHEAD

    def by_the_rule(self) -> Array:
        """Inner pivot at the workshop rule's length, on the line to the instant center."""
        along = placed(self.printed[1]) + ARM_AHEAD - self.outer
        return self.outer + SCALE * float(self.printed[7]) * along / np.linalg.norm(along)


@pytest.fixture(params=ROWS, ids=lambda row: f"{row[0]} deg, offset {row[3]}")
def row(request: pytest.FixtureRequest) -> Row:
    printed = request.param
    poses = toe_held_poses(wishbone(float(printed[0])), TRAVEL, LEFT, np.zeros(TRAVEL.shape), HOME)
    return Row(printed, poses)


def joints(arm_angle_deg: float) -> tuple[Array, Array]:
    """Lower and upper ball joint, by circles that meet; the first assembly."""
    sizes = PLANAR["linkage"]
    angle = np.radians(arm_angle_deg)
    lower = sizes["lower_arm"] * np.array([np.cos(angle), np.sin(angle)])
    pivot = numbers(sizes["upper_pivot"])
    apart = pivot - lower
    span = np.linalg.norm(apart)
    along = (span**2 + sizes["upright"] ** 2 - sizes["upper_arm"] ** 2) / (2.0 * span)
    square = np.array([apart[1], -apart[0]]) / span
    foot = lower + along * apart / span
    return lower, foot + np.sqrt(sizes["upright"] ** 2 - along**2) * square


def wishbone(arm_angle_deg: float) -> DoubleWishbone:
    lower, upper = (placed(joint) for joint in joints(arm_angle_deg))
    low, high = (placed(PLANAR["linkage"][f"{arm}_pivot"]) for arm in ("lower", "upper"))
    return DoubleWishbone(
        lower_arm_front=low + HINGE,
        lower_arm_rear=low - HINGE,
        lower_ball_joint=lower,
        upper_arm_front=high + HINGE,
        upper_arm_rear=high - HINGE,
        upper_ball_joint=upper,
        wheel_center=0.5 * (lower + upper) + 40.0 * LEFT,
    )


def test_the_point_of_the_upright_is_the_printed_one(row):
    lower, upper = joints(float(row.printed[0]))
    up = (upper - lower) / np.linalg.norm(upper - lower)
    beside = np.array([up[1], -up[0]])
    share, offset = float(row.printed[2]), float(row.printed[3])
    found = lower + share * (upper - lower) - offset * beside
    off = np.abs(found - numbers(row.printed[4]))
    assert (off <= half_last_digit(row.printed[4]) + 1e-12).all()


def test_the_upright_turns_about_the_printed_instant_center(row):
    around = toe_held_poses(
        wishbone(float(row.printed[0])),
        np.array([-2.0, -1.0, 0.0, 1.0, 2.0]),
        LEFT,
        np.zeros(5),
        HOME,
    )
    wheel = wishbone(float(row.printed[0])).wheel_center
    center = around.rotation @ wheel + around.translation
    found = instant_center(center, around.rotation) / SCALE
    # The five-point slope of `instant_center` leaves parts of a billion; the center is far away.
    np.testing.assert_allclose(found, numbers(row.printed[1]), rtol=1e-6)


def test_a_rod_to_the_center_of_curvature_leaves_neither_slope_nor_curvature(row):
    change = toe_error(row.poses, row.outer, row.center)
    figures = toe_curve(TRAVEL, change)
    scale = toe_curve(TRAVEL, toe_error(row.poses, row.outer, row.by_the_rule()))
    assert float(figures.slope[0]) == pytest.approx(0.0, abs=1e-9)  # rad/mm; digits printed
    # What is left is of the third order, and the last printed digit of the center.
    assert abs(float(figures.curvature[0])) < 1e-3 * abs(float(scale.curvature[0]))


def test_the_workshop_rule_s_length_leaves_a_curvature_by_the_printed_ratio(row):
    """A rod of length L square to a path of radius r lengthens by s^2 / 2 (1 / L - 1 / r)."""
    inner = row.by_the_rule()
    carried = row.poses.rotation @ row.outer + row.poses.translation
    speed = np.linalg.norm(carried[3] - carried[1]) / (TRAVEL[3] - TRAVEL[1])
    length = rod_length_needed(row.poses, row.outer, inner)
    step = TRAVEL[1] - TRAVEL[0]
    bend = (-length[0] + 16 * length[1] - 30 * length[2] + 16 * length[3] - length[4]) / (
        12.0 * step**2
    )
    ratio = 1.0 - length[HOME] * bend / speed**2
    assert ratio == pytest.approx(float(row.printed[8]), abs=2 * half_last_digit(row.printed[8]))
    figures = toe_curve(TRAVEL, toe_error(row.poses, row.outer, inner))
    assert abs(float(figures.slope[0])) < 1e-8
    assert abs(float(figures.curvature[0])) > 1e-7


def test_the_least_squares_fit_finds_the_center_of_curvature(row):
    start = row.center + np.array([0.0, 12.0, -9.0])
    fit = fitted_inner(row.poses, row.outer, start, np.eye(3)[1:])
    # Over one millimeter to both sides the path is a circle to a part in a thousand.
    np.testing.assert_allclose(fit.point, row.center, rtol=0, atol=0.1)
