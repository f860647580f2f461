"""Adjusted networks against a printed example, SciPy in other unknowns, and readings left out."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import norm as normal

from geometry.network import (
    FOUND_SHIFT,
    adjusted,
    loose_directions,
    rates_of,
)
from tests.geometry.printed import published

LEVELS = published("level_network")
NAMES = ("A", "B", "C")
MARKS = {name: float(height) for name, height in LEVELS["bench_marks"].items()}


def height_differences(heights):
    """What the level reads along each line, heights (..., 3)."""

    def at(name):
        if name in NAMES:
            return heights[..., NAMES.index(name)]
        return np.full(heights.shape[:-1], MARKS[name], dtype=heights.dtype)

    return np.stack([at(line["to"]) - at(line["from"]) for line in LEVELS["lines"]], axis=-1)


def level_network(sigma):
    read = np.array([float(line["difference"]) for line in LEVELS["lines"]])
    return adjusted(height_differences, np.array([105.0, 105.0, 105.0]), read, sigma)


def test_heights_of_a_level_network_come_out_as_printed():
    for table, sigma in (
        ("equal_weights", np.ones(7)),
        ("by_distance", np.sqrt([float(line["miles"]) / 12.0 for line in LEVELS["lines"]])),
    ):
        fit, told = level_network(sigma), LEVELS[table]
        printed = [float(told["heights"][name]) for name in NAMES]
        np.testing.assert_allclose(fit.unknowns, printed, rtol=0.0, atol=0.5e-3)
        unit_weight = np.sqrt(fit.chi_square / fit.freedom)
        assert unit_weight == pytest.approx(float(told["deviation_of_unit_weight"]), abs=0.5e-3)
        if "deviations" in told:
            deviations = unit_weight * np.sqrt(np.diag(fit.covariance))
            of_names = [float(told["deviations"][name]) for name in NAMES]
            np.testing.assert_allclose(deviations, of_names, rtol=0.0, atol=0.5e-3)
        else:
            printed = [float(line["residual"]) for line in LEVELS["lines"]]
            np.testing.assert_allclose(-fit.residuals, printed, rtol=0.0, atol=0.5e-4)


ANCHORS = np.array([[0.0, 0.0], [-1800.0, 0.0], [-600.0, 900.0]])
TRUE = np.array([-700.0, 350.0, -900.0, 700.0])
READ_BY = np.array([1.0, 1.0, 2.0, 1.0, 1.5, 1.0, 0.5])


def distances(unknowns):
    """From two marks to three known ones, and between the two."""
    marks = unknowns.reshape(*unknowns.shape[:-1], 2, 2)
    between = marks[..., :, None, :] - ANCHORS
    own = marks[..., [0], :] - marks[..., [1], :]
    apart = np.concatenate([between.reshape(*unknowns.shape[:-1], 6, 2), own], axis=-2)
    return np.sqrt((apart**2).sum(axis=-1))


def trilateration(seed=0, spoiled=None):
    rng = np.random.default_rng(seed)
    read = distances(TRUE) + READ_BY * rng.normal(size=7)
    if spoiled is not None:
        read[spoiled] += 20.0
    return read, adjusted(distances, TRUE + rng.normal(size=4) * 60.0, read, READ_BY)


def test_marks_and_their_covariance_are_those_of_scipy_in_other_unknowns():
    read, fit = trilateration()

    def polar(unknowns):
        """Marks by bearing and distance from the third known mark."""
        far, angle = unknowns[0::2], unknowns[1::2]
        places = ANCHORS[2] + np.stack([far * np.cos(angle), far * np.sin(angle)], axis=-1)
        return places.ravel()

    away = TRUE.reshape(2, 2) - ANCHORS[2]
    start = np.stack([np.hypot(*away.T), np.arctan2(away[:, 1], away[:, 0])], axis=-1).ravel()
    best = least_squares(
        lambda x: (distances(polar(x)) - read) / READ_BY,
        start,
        x_scale=[100.0, 0.1] * 2,
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
    )
    np.testing.assert_allclose(fit.unknowns, polar(best.x), rtol=0.0, atol=1e-6)
    turned = np.stack(
        [
            (polar(best.x + h) - polar(best.x - h)) / (2.0 * h.max())
            for h in np.diag([1e-3, 1e-6] * 2)
        ],
        axis=-1,
    )
    spread = turned @ np.linalg.inv(best.jac.T @ best.jac) @ turned.T
    np.testing.assert_allclose(fit.covariance, spread, rtol=1e-5, atol=1e-7)
    assert fit.chi_square == pytest.approx(2.0 * best.cost, rel=1e-9)


def test_redundancies_add_up_to_the_readings_that_were_not_needed():
    _, fit = trilateration()
    assert fit.redundancy.sum() == pytest.approx(fit.freedom, abs=1e-9)
    assert fit.freedom == 3


@pytest.mark.parametrize("left_out", range(7))
def test_a_normalised_residual_tells_what_leaving_the_reading_out_would_gain(left_out):
    """The w-test is exact for linear readings: the level network is."""
    sigma = np.sqrt([float(line["miles"]) for line in LEVELS["lines"]])
    fit = level_network(sigma)
    kept = np.arange(7) != left_out
    read = np.array([float(line["difference"]) for line in LEVELS["lines"]])
    without = adjusted(
        lambda heights: height_differences(heights)[..., kept],
        np.full(3, 105.0),
        read[kept],
        sigma[kept],
    )
    gain = fit.chi_square - without.chi_square
    assert fit.normalized[left_out] ** 2 == pytest.approx(gain, abs=1e-9)
    assert fit.explained_by([left_out]) == pytest.approx(gain, abs=1e-9)
    missed = read[left_out] - height_differences(without.unknowns)[left_out]
    assert fit.mistakes[left_out] == pytest.approx(missed, abs=1e-9)


def test_two_readings_left_out_together_gain_what_is_said_of_the_pair():
    sigma = np.ones(7)
    fit, kept = level_network(sigma), [0, 2, 3, 5, 6]
    read = np.array([float(line["difference"]) for line in LEVELS["lines"]])
    without = adjusted(
        lambda heights: height_differences(heights)[..., kept],
        np.full(3, 105.0),
        read[kept],
        sigma[kept],
    )
    assert fit.explained_by([1, 4]) == pytest.approx(fit.chi_square - without.chi_square, abs=1e-9)
    missed = (read - height_differences(without.unknowns))[[1, 4]]
    np.testing.assert_allclose(fit.mistakes_in([1, 4]), missed, rtol=0.0, atol=1e-9)


def test_the_reading_that_was_spoiled_stands_apart_by_as_much():
    for spoiled in range(6):
        _, fit = trilateration(seed=spoiled, spoiled=spoiled)
        assert int(np.argmax(np.abs(fit.normalized))) == spoiled
        deviation = READ_BY[spoiled] / np.sqrt(fit.redundancy[spoiled])
        assert abs(fit.mistakes[spoiled] - 20.0) < 4.0 * deviation


def test_the_shift_that_is_found_is_that_of_a_test_of_a_thousandth_at_four_in_five():
    """Baarda (1968) prints 4.13 for them; from memory, and from the normal distribution here."""
    assert pytest.approx(normal.isf(0.0005) + normal.isf(0.2), abs=0.005) == FOUND_SHIFT


def test_a_reading_that_nothing_checks_says_so():
    fit = adjusted(lambda x: x, np.zeros(2), np.array([1.0, 2.0]), np.ones(2))
    assert fit.redundancy.tolist() == [0.0, 0.0]
    assert fit.normalized.tolist() == [0.0, 0.0]
    assert np.isinf(fit.least_found).all()
    assert fit.freedom == 0


def test_rounding_in_readings_that_nothing_checks_explains_nothing():
    fit = level_network(np.ones(7))
    hair = replace(
        fit,
        residuals=np.array([3e-13, -1e-13, *fit.residuals[2:]]),
        influence=np.diag([2e-16, 1e-24, *np.diag(fit.influence)[2:]]),
    )
    assert hair.explained_by([0, 1]) == 0.0
    assert hair.mistakes_in([0, 1]).tolist() == [0.0, 0.0]


def test_a_direction_that_no_reading_holds_is_named():
    def first_alone(x):
        return x[..., [0]] * np.ones(3)

    loose = loose_directions(first_alone, np.zeros(2), np.ones(3))
    np.testing.assert_allclose(np.abs(loose), [[0.0, 1.0]], atol=1e-12)


def test_rates_are_exact():
    step = 1e-4
    central = [
        (distances(TRUE + by) - distances(TRUE - by)) / (2.0 * step) for by in step * np.eye(4)
    ]
    np.testing.assert_allclose(rates_of(distances, TRUE), np.transpose(central), atol=1e-8)
