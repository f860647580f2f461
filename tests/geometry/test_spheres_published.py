"""Points at known distances against worked examples from print."""

from itertools import combinations

import numpy as np
import pytest

from geometry.spheres import line_sphere_point, three_sphere_point, which_side

from .printed import half_last_digit, numbers, published

LENGTH_ATOL_MM = 1e-9
SPHERES = published("three_spheres")
SLIDER = published("spatial_slider_crank")


def roots_of_first_three():
    case = SPHERES["four_spheres"]
    centers, radii = numbers(case["centers"])[:3], numbers(case["radii"])[:3]
    side = which_side(centers, numbers(case["point"]))
    return [three_sphere_point(centers, radii, sign * side) for sign in (+1, -1)]


def assert_as_printed(value, printed):
    allowed = half_last_digit(printed) + LENGTH_ATOL_MM
    assert (np.abs(value - numbers(printed)) <= allowed).all(), (value, printed)


@pytest.mark.parametrize("root", ["near_root", "far_root"])
def test_both_mirror_images_of_three_spheres_are_found(root):
    near, far = roots_of_first_three()
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
    point = three_sphere_point(centers, radii, which_side(centers, printed))
    np.testing.assert_allclose(point, printed + step, rtol=0, atol=5e-4)


def test_spheres_that_touch_share_one_point_whichever_side_is_named():
    case = SPHERES["touching"]
    for side in (+1, -1):
        point = three_sphere_point(numbers(case["centers"]), numbers(case["radii"]), side)
        np.testing.assert_allclose(point, numbers(case["point"]), rtol=0, atol=LENGTH_ATOL_MM)


def test_three_generic_spheres_meet_at_the_printed_point():
    case = SPHERES["generic"]
    centers, radii = numbers(case["centers"]), numbers(case["radii"])
    point = three_sphere_point(centers, radii, which_side(centers, numbers(case["point"])))
    # The point is whole numbers; the nine printed decimals of the radii carry the error.
    np.testing.assert_allclose(point, numbers(case["point"]), rtol=0, atol=1e-9)


def test_three_generic_spheres_meet_at_a_mirror_point_too():
    case, printed = SPHERES["generic"], SPHERES["generic_mirror"]["point"]
    centers, radii = numbers(case["centers"]), numbers(case["radii"])
    point = three_sphere_point(centers, radii, which_side(centers, numbers(printed)))
    assert_as_printed(point, printed)


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
