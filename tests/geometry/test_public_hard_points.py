"""Five public point sets: toe, camber by both definitions, and the wheel's path.

The printed digits come from other formulations than ours; the ninth decimal from a multibody
library that shares no formula with it.  One set has an upper A-arm, two links with one joint.
"""

import numpy as np
import pytest

from geometry.linkages import Linkage
from geometry.motion import rod_motion
from geometry.wheel_angles import (
    camber_angle,
    caster_angle,
    iso_camber_angle,
    kingpin_inclination,
    spin_axis,
    toe_angle,
)

from .corners import Array, corner_points, link_set_of, linkage_of, rod_between
from .multibody import multibody_sweep
from .printed import half_last_digit, numbers, published

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
SETS = published("public_hard_points")
NAMES = [name for name, one in SETS.items() if isinstance(one, dict)]
SQUARE_WHEEL = np.array([0.0, 1.0, 0.0])
DOWN = np.array([0.0, 0.0, -1.0])


def corner(name: str) -> tuple[dict[str, Array], Linkage]:
    points, layout = corner_points(SETS[name]["points"]), SETS[name]["layout"]
    return points, link_set_of(points) if layout == "five-link" else linkage_of(layout, points)


def toe_deg(name: str, travel: Array, drop: float = 0.0) -> Array:
    points, linkage = corner(name)
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"] + drop * DOWN)
    return np.degrees(toe_angle(rod_motion(linkage, travel, rod).rotation @ SQUARE_WHEEL))


@pytest.mark.parametrize("name", NAMES)
def test_toe_camber_and_path_are_those_that_other_formulations_give(name):
    points, linkage = corner(name)
    rows = SETS[name]["rows"]
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    motion = rod_motion(linkage, numbers(rows)[:, 0], rod)
    spin = motion.rotation @ SQUARE_WHEEL
    shift = motion.moved(points["wheel_center"]) - points["wheel_center"]
    found = np.column_stack(
        [shift[:, 2], np.degrees(toe_angle(spin)), np.degrees(iso_camber_angle(spin)), shift[:, :2]]
    )
    allowed = half_last_digit(rows) + LENGTH_ATOL_MM
    assert (np.abs(found - numbers(rows)) <= allowed).all(), found - numbers(rows)


@pytest.mark.parametrize("drop", [0.0, 5.0])
@pytest.mark.parametrize("name", NAMES)
def test_the_multibody_library_gives_the_same_toe_to_nine_decimals(name, drop):
    points, _ = corner(name)
    travel = numbers(SETS[name]["rows"])[:, 0]
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"] + drop * DOWN)
    bare = (rod.inner, rod.outer, float(rod.length))
    sweep = multibody_sweep(SETS[name]["layout"], points, bare, travel)
    there = np.degrees(toe_angle(sweep.rotation @ SQUARE_WHEEL))
    np.testing.assert_allclose(toe_deg(name, travel, drop), there, rtol=0, atol=ANGLE_ATOL_DEG)


@pytest.mark.parametrize("name", NAMES)
def test_toe_gain_is_as_printed_now_and_with_the_outer_pivot_5_mm_lower(name):
    step = np.array([-0.01, 0.01])
    found = [np.diff(toe_deg(name, step, drop))[0] / 0.02 * 10.0 for drop in (0.0, 5.0)]
    printed = SETS[name]["slopes"]
    assert (np.abs(found - numbers(printed)) <= half_last_digit(printed) + 1e-8).all(), found


@pytest.mark.parametrize("name", [name for name in NAMES if "lower_ball_joint" in corner(name)[0]])
def test_caster_and_kingpin_inclination_are_as_printed(name):
    points, _ = corner(name)
    upper = points["strut_top" if SETS[name]["layout"] == "strut" else "upper_ball_joint"]
    axis = upper - points["lower_ball_joint"]
    found = np.degrees([caster_angle(axis), kingpin_inclination(axis)])
    printed = SETS[name]["caster_and_kingpin_inclination_deg"]
    assert (np.abs(found - numbers(printed)) <= half_last_digit(printed)).all(), found


@pytest.mark.parametrize(("toe", "camber"), [(2.0, 1.6), (-3.0, -4.0), (0.0, 5.0), (4.0, 0.0)])
def test_the_two_cambers_differ_by_the_cosine_of_toe(toe, camber):
    """tan(ISO) cos(toe) = tan(inclination): ISO 8855 projects about x, a rim gauge does not."""
    spin = spin_axis(np.radians(toe), np.radians(camber))
    assert np.degrees(camber_angle(spin)) == pytest.approx(camber, abs=ANGLE_ATOL_DEG)
    iso = np.tan(iso_camber_angle(spin)) * np.cos(np.radians(toe))
    assert np.degrees(np.arctan(iso)) == pytest.approx(camber, abs=ANGLE_ATOL_DEG)


@pytest.mark.parametrize("name", NAMES)
def test_on_these_cars_the_two_cambers_are_within_a_thousandth_and_apart(name):
    points, linkage = corner(name)
    rod = rod_between(points["tie_rod_inner"], points["tie_rod_outer"])
    motion = rod_motion(linkage, numbers(SETS[name]["rows"])[:, 0], rod)
    spin = motion.rotation @ SQUARE_WHEEL
    apart = np.abs(np.degrees(iso_camber_angle(spin) - camber_angle(spin)))
    assert 0.0 < apart.max() < 0.00125
