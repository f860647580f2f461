"""Screw threads against print and against a general-purpose library for threaded assemblies."""

from decimal import Decimal

import numpy as np
import pytest
from screw_thread_lib import Assembly
from screw_thread_lib.data import ASME_M_6g6H_dict, ASME_UN_2A2B_dict

from geometry.threads import (
    METRIC,
    UNIFIED,
    full_strength_engagement,
    root_diameter,
    tensile_stress_area,
)

from .printed import half_last_digit, published

PRINTED = published("threads")
FORMULA_RTOL = 1e-12  # the same formula, written in another order


def as_printed(value, printed):
    return float(value) == pytest.approx(
        float(printed), rel=0.0, abs=float(half_last_digit(printed))
    )


def circle(diameter):
    return np.pi / 4.0 * diameter**2


@pytest.mark.parametrize("row", PRINTED["unified"]["rows"], ids=["1/2-20", "5/8-18"])
def test_inch_threads_leave_the_printed_areas(row):
    diameter, turns, stress_area, minor_area = row
    area = tensile_stress_area(float(diameter), 1.0 / turns, UNIFIED)
    if stress_area in PRINTED["unified"]["cut_off"]:
        assert np.floor(area * 1e4) / 1e4 == float(stress_area)
    else:
        assert as_printed(area, stress_area)
    assert as_printed(circle(root_diameter(float(diameter), 1.0 / turns, UNIFIED)), minor_area)


@pytest.mark.parametrize("table", ["metric_fine", "metric_coarse"])
def test_metric_threads_leave_the_printed_areas_and_roots(table):
    for diameter, pitch, area, *root in PRINTED[table]["rows"]:
        size = float(diameter), float(pitch)
        assert as_printed(tensile_stress_area(*size), area)
        assert [as_printed(root_diameter(*size), printed) for printed in root] in ([], [True])


def test_a_half_inch_fine_thread_needs_the_printed_engagement_of_both_threads_together():
    example = PRINTED["full_strength_engagement"]
    pitch = 1.0 / example["threads_per_inch"]
    length = full_strength_engagement(float(example["diameter"]), pitch, UNIFIED)
    assert as_printed(length, example["printed"])


def test_the_printed_arithmetic_example_is_the_same_formula():
    example = PRINTED["simplified_engagement"]
    diameter, pitch, area = (float(example[key]) for key in ("diameter", "pitch", "area"))
    ours = full_strength_engagement(diameter, pitch, UNIFIED)
    with_their_area = ours * area / tensile_stress_area(diameter, pitch, UNIFIED)
    assert as_printed(with_their_area, example["printed"])


@pytest.mark.parametrize("name", sorted(ASME_UN_2A2B_dict))
def test_inch_threads_agree_with_the_outside_library(name):
    outside = Assembly.from_database("ASME_UN_2A2B", name)
    size = ASME_UN_2A2B_dict[name]
    diameter, pitch = size["dbsc"], 1.0 / size["n"]
    area = tensile_stress_area(diameter, pitch, UNIFIED)
    assert area == pytest.approx(outside.As_FEDSTD_1b(), rel=FORMULA_RTOL)
    assert full_strength_engagement(diameter, pitch, UNIFIED) == pytest.approx(
        outside.LEr_FEDSTD_13(), rel=FORMULA_RTOL
    )


@pytest.mark.parametrize("name", sorted(ASME_M_6g6H_dict))
def test_metric_threads_agree_with_the_outside_library(name):
    outside = Assembly.from_database("ASME_M_6g6H", name)
    size = ASME_M_6g6H_dict[name]
    diameter, pitch = size["dbsc"], 1.0 / size["n"]
    assert tensile_stress_area(diameter, pitch) == pytest.approx(outside.As_ISO(), rel=FORMULA_RTOL)
    # Its formula 13 takes the unified stress area, a little smaller than the metric one.
    assert full_strength_engagement(diameter, pitch, UNIFIED) == pytest.approx(
        outside.LEr_FEDSTD_13(), rel=FORMULA_RTOL
    )


@pytest.mark.parametrize("form", [METRIC, UNIFIED], ids=["metric", "unified"])
def test_a_finer_thread_leaves_more_of_the_bar(form):
    pitches = np.array([2.0, 1.5, 1.0, 0.0])
    roots, areas = root_diameter(14.0, pitches, form), tensile_stress_area(14.0, pitches, form)
    assert np.all(np.diff(roots) > 0.0)
    assert np.all(np.diff(areas) > 0.0)
    assert np.all(circle(roots) <= areas)
    assert areas[-1] == circle(14.0)


def test_printed_numbers_keep_their_digits():
    assert PRINTED["metric_coarse"]["rows"][1][2] == Decimal("1.15e2")
    assert half_last_digit(PRINTED["metric_coarse"]["rows"][1][2]) == 0.5
