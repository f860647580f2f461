"""An upper A-arm with lateral, trailing and toe link: two of five links share an outer joint."""

import numpy as np
import pytest

from optimizer.answers.curve import curve
from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.tape import point_names
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import car_from_toml
from tests.geometry.printed import numbers, published

SET = published("public_hard_points")["multilink"]
UP = 320.0  # from the ground to where the points were counted from; moves nothing against anything


def car_text(points=None):
    points = {name: numbers(point) for name, point in SET["points"].items()} | (points or {})
    lines = "\n".join(
        f"{name} = [{x:.10g}, {y:.10g}, {z + UP:.10g}]" for name, (x, y, z) in points.items()
    )
    return (
        'format = 1\nname = "A rear axle"\nunits = "mm"\nlayout = "five-link"\n'
        f'[car]\naxle = "rear"\n[points]\n{lines}\n[wheel]\ntire_radius = 320.0\n'
        "[ride]\nbump = 60.0\ndroop = 60.0\n"
        "[outer_pivot]\nstack = { min = -10.0, max = 10.0, step = 1.0 }\n"
    )


def test_it_is_read_and_its_toe_is_that_of_the_public_points():
    wheel = curve(car_from_toml(car_text(), "car")).wheels[0]
    found = dict(
        zip(wheel.travel_mm, zip(wheel.toe_deg, wheel.iso_camber_deg, strict=True), strict=True)
    )
    for travel, toe, camber, *_ in SET["rows"]:
        # Six decimals are given.
        assert found[float(travel)] == pytest.approx((float(toe), float(camber)), abs=0.5e-6)


def test_a_stack_is_suggested_that_takes_toe_out():
    result = suggest(car_from_toml(car_text(), "car"))
    assert result.ranked[0].fits
    assert result.ranked[0].peak_toe_change_deg < 0.1 < result.as_is.peak_toe_change_deg
    # Printed: a pivot 5 mm lower gains toe-in in bump, so what is wanted lies above the seat.
    assert result.ranked[0].wheels[0].outer_drop_mm < 0.0


def test_the_shared_joint_is_measured_once_so_both_links_err_alike():
    evaluator = Evaluator.of(car_from_toml(car_text(), "car").case)
    errors = np.random.default_rng(1).normal(size=(4, len(point_names(evaluator.corner)), 3))
    moved = moved_corner(evaluator, errors).points
    np.testing.assert_array_equal(moved["link_1_outer"], moved["link_2_outer"])
    assert not np.allclose(moved["link_1_outer"], moved["link_3_outer"])


def test_a_third_link_in_the_same_joint_is_refused():
    text = car_text({"link_3_outer": numbers(SET["points"]["link_1_outer"])})
    with pytest.raises(PivotwrightError, match=r"points\.link_3_outer +must not lie where two"):
        car_from_toml(text, "car")


def test_inner_joints_still_must_not_coincide():
    text = car_text({"link_2_inner": numbers(SET["points"]["link_1_inner"])})
    with pytest.raises(PivotwrightError, match="must not coincide with link_1_inner"):
        car_from_toml(text, "car")
