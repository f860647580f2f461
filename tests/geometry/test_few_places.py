"""Smooth curves at very many places, found through few."""

import numpy as np
import pytest
from scipy.interpolate import BarycentricInterpolator

from geometry.few_places import FEW, through_few_places

CURVES = [np.sin, np.exp, lambda x: 1.0 / (x - 1.2), lambda x: np.sqrt(4.0 - x)]


@pytest.mark.parametrize("curve", CURVES)
def test_values_at_few_places_give_those_at_all(curve):
    places = np.random.default_rng(1).uniform(-1.0, 1.0, 2_000)
    few, onto = through_few_places(places)
    assert few.size == FEW
    assert (few.min(), few.max()) == (places.min(), places.max())
    assert onto @ curve(few) == pytest.approx(curve(places), rel=1e-12)


def test_it_is_the_polynomial_that_scipy_finds():
    places = np.linspace(-80.0, 120.0, 301)
    few, onto = through_few_places(places)
    values = np.abs(few)  # not smooth: no two polynomials through other places agree
    expected = BarycentricInterpolator(few, values)(places)
    assert onto @ values == pytest.approx(expected, abs=1e-10)
