"""Points at known distances against worked examples from print."""

from itertools import combinations

import numpy as np
import pytest

from geometry.linkages.lower_arm import JointCircle
from geometry.spheres import line_sphere_point

from .printed import half_last_digit, numbers, published

LENGTH_ATOL_MM = 1e-9
SPHERES = published("three_spheres")
SLIDER = published("spatial_slider_crank")


def meeting_points(centers, radii, near):
    """Both points that lie at three distances from three centers, the one nearest `near` first.

    Each is the joint of an arm that turns about the line through the first two centers.
    """
    first, second, third = centers
    axis = (second - first) / np.linalg.norm(second - first)
    along = 0.5 * ((radii[0] ** 2 - radii[1] ** 2) / np.linalg.norm(second - first))
    along += 0.5 * np.linalg.norm(second - first)
    across = np.cross(axis, third - first)
    outward = np.sqrt(radii[0] ** 2 - along**2) * across / np.linalg.norm(across)
    arm = JointCircle.of(first, second, first + along * axis + outward)
    found = [arm.apart_from(third, radii[2], side) for side in (+1, -1)]
    return sorted(found, key=lambda point: np.linalg.norm(point - near))


def assert_as_printed(value, printed):
    allowed = half_last_digit(printed) + LENGTH_ATOL_MM
    assert (np.abs(value - numbers(printed)) <= allowed).all(), (value, printed)


@pytest.mark.parametrize("root", ["near_root", "far_root"])
def test_both_mirror_images_of_three_spheres_are_found(root):
    case = SPHERES["four_spheres"]
    centers, radii = numbers(case["centers"])[:3], numbers(case["radii"])[:3]
    near, far = meeting_points(centers, radii, numbers(case["point"]))
    found = {"near_root": near, "far_root": far}[root]
    assert_as_printed(found, SPHERES["first_three_spheres"][root])


@pytest.mark.parametrize("chosen", list(combinations(range(4), 3)))
def test_any_three_of_four_spheres_meet_where_the_printed_point_and_its_misfit_say(chosen):
    case = SPHERES["four_spheres"]
    centers, radii = numbers(case["centers"])[list(chosen)], numbers(case["radii"])[list(chosen)]
    printed = numbers(case["point"])
    offset = printed - centers
    distance = np.linalg.norm(offset, axis=1)
    # The printed point solves four spheres at once and leaves up to 0.006 in each radius.  Any
    # three of them meet where that misfit vanishes: one linear step away, and what such a step
    # leaves is its square (up to 0.1 squared) over the radii.
    step = np.linalg.solve(offset / distance[:, None], radii - distance)
    point, _ = meeting_points(centers, radii, printed)
    np.testing.assert_allclose(point, printed + step, rtol=0, atol=5e-4)


def test_spheres_that_touch_share_one_point_whichever_side_is_named():
    case = SPHERES["touching"]
    printed = numbers(case["point"])
    for point in meeting_points(numbers(case["centers"]), numbers(case["radii"]), printed):
        np.testing.assert_allclose(point, printed, rtol=0, atol=LENGTH_ATOL_MM)


def test_three_generic_spheres_meet_at_the_printed_point_and_at_its_mirror_point():
    case, mirrored = SPHERES["generic"], SPHERES["generic_mirror"]["point"]
    centers, radii, point = (numbers(case[key]) for key in ("centers", "radii", "point"))
    found, mirror = meeting_points(centers, radii, point)
    # The point is whole numbers; the nine printed decimals of the radii carry the error.
    np.testing.assert_allclose(found, point, rtol=0, atol=1e-9)
    assert_as_printed(mirror, mirrored)


def slider_position(crank_angle):
    case = SLIDER["linkage"]
    length = float(case["crank_length"])
    outward = np.stack(
        [np.zeros(crank_angle.shape), -np.sin(crank_angle), np.cos(crank_angle)], axis=-1
    )
    pin = numbers(case["crank_center"]) + length * outward
    origin, along_x = np.zeros(3), np.array([1.0, 0.0, 0.0])
    return line_sphere_point(origin, along_x, pin, np.asarray(float(case["rod_length"])), +1)


def test_slider_of_the_spatial_crank_starts_where_the_benchmark_puts_it():
    start = float(SLIDER["linkage"]["slider_at_start"])
    np.testing.assert_allclose(slider_position(np.zeros(1)), start, rtol=0, atol=1e-15)


def test_slider_of_the_spatial_crank_follows_the_crank():
    angle, slider = numbers(SLIDER["positions"]["rows"]).T
    # Ten decimals are given; 0.2 and 0.28 are exact and have no more.
    np.testing.assert_allclose(slider_position(np.radians(angle)), slider, rtol=0, atol=0.5e-10)
