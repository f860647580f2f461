"""Variance-based indices: the Ishigami function's, and figures whose indices are known."""

import numpy as np
import pytest

from geometry.variance_indices import uniform_of_normal, variance_indices
from tests.geometry.printed import numbers, published

COUNT = 65_536
SAMPLING_ATOL = 0.015  # three standard deviations of the noisiest index at `COUNT`


def draws(inputs, count=COUNT):
    return np.random.default_rng(8).normal(size=(2, count, inputs))


def ishigami(normal, a, b):
    x = np.pi * uniform_of_normal(normal)
    return np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])


def test_the_ishigami_function_has_the_indices_that_are_published():
    printed = published("ishigami")
    a, b = float(printed["a"]), float(printed["b"])
    first, total = variance_indices(lambda x: ishigami(x, a, b), *draws(3), np.eye(3))
    for found, name in ((first, "first_order"), (total, "total_order")):
        assert found == pytest.approx(numbers(printed[name]), abs=SAMPLING_ATOL)


def test_a_direction_of_a_sum_has_the_share_that_it_takes_of_the_gradient():
    gradient = np.array([3.0, -1.0, 2.0, 0.0])
    ways = np.array([[1.0, 0, 0, 0], [0, 0, 0, 1.0], [0.6, 0, 0.8, 0]])
    first, total = variance_indices(lambda x: x @ gradient, *draws(4), ways)
    share = (ways @ gradient) ** 2 / (gradient @ gradient)
    assert first == pytest.approx(share, abs=SAMPLING_ATOL)
    assert total == pytest.approx(share, abs=SAMPLING_ATOL)


def test_inputs_that_matter_only_together_have_no_index_alone():
    first, total = variance_indices(lambda x: x[:, 0] * x[:, 1], *draws(2), np.eye(2))
    assert first == pytest.approx([0.0, 0.0], abs=2.0 * SAMPLING_ATOL)
    assert total == pytest.approx([1.0, 1.0], abs=2.0 * SAMPLING_ATOL)


def test_a_figure_that_does_not_vary_has_no_index():
    first, total = variance_indices(lambda x: np.ones(len(x)), *draws(2, 16), np.eye(2))
    assert not first.any()
    assert not total.any()
