"""Sweeps of very many rows: a few heights are solved, and say what all rows would show."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.files.case_file import read_case
from optimizer.gauging import observation
from optimizer.gauging.fit import fitted_points, nudged_cars
from optimizer.gauging.observation import Observation, all_foretold, camber, sideways, toe
from tests.optimizer.command_line import STRUT

MANY = 1_000
EYES = {"toe": toe, "camber": camber, "sideways": sideways(250.0)}


def heights_solved(monkeypatch):
    """Numbers of heights of the motions that are solved."""
    solved, motion = [], observation.sampled_motion

    def counted(evaluator, corner, setting, travel, **more):
        solved.append(travel.size)
        return motion(evaluator, corner, setting, travel, **more)

    monkeypatch.setattr(observation, "sampled_motion", counted)
    return solved


def rows(heights, seen=None, eye=toe, **more):
    seen = np.zeros(heights.size) if seen is None else seen
    return Observation.of(eye, Settings.single(), seen, 1e-4, travel=heights, **more)


def cars_of(tape):
    return nudged_cars(tape, np.zeros(3 * len(point_names(tape.corner))))


@pytest.mark.parametrize("eye", EYES)
def test_what_many_rows_would_show_is_what_each_height_by_itself_does(demo_car, monkeypatch, eye):
    tape = Evaluator.of(read_case(demo_car))
    heights = np.random.default_rng(4).uniform(*tape.travel[[0, -1]], MANY)
    more = {"rack": 5.0, "longer": 1.5} if tape.case.words.steers else {}
    solved = heights_solved(monkeypatch)
    (found,) = all_foretold(tape, cars_of(tape), [rows(heights, eye=EYES[eye], **more)])
    assert solved[0] < 100
    few = rows(heights[:50], eye=EYES[eye], **more)
    (expected,) = all_foretold(tape, cars_of(tape), [few])
    assert np.abs(found[:, :50] - expected).max() < 1e-10  # radians, or millimeters


def test_points_are_fitted_to_many_rows_as_to_their_means(monkeypatch):
    """Rows at one height tell what their mean does, the surer by the root of their number."""
    tape = Evaluator.of(read_case(STRUT))
    rng = np.random.default_rng(6)
    each = np.linspace(*tape.travel[[0, -1]], 12)
    seen = tape.toe(Settings.single(2.0), each)[0] + rng.normal(0.0, 1e-4, (MANY // 10, 12))
    solved = heights_solved(monkeypatch)
    fit = fitted_points(tape, [rows(np.tile(each, len(seen)), seen.ravel())])
    means = Observation.of(
        toe, Settings.single(), seen.mean(axis=0), 1e-4 / np.sqrt(len(seen)), travel=each
    )
    expected = fitted_points(tape, [means])
    assert max(solved) < 100
    assert np.abs(fit.errors - expected.errors).max() < 1e-4  # standard deviations of the tape


def test_where_some_heights_are_out_of_reach_each_is_solved_by_itself():
    tape = Evaluator.of(read_case(STRUT))
    heights = np.linspace(0.0, 1_000.0, MANY // 5)
    (found,) = all_foretold(tape, cars_of(tape), [rows(heights)])
    (expected,) = all_foretold(tape, cars_of(tape), [rows(heights[::20])])
    assert np.isnan(found).any()
    np.testing.assert_array_equal(np.isnan(found[:, ::20]), np.isnan(expected))
    assert np.nanmax(np.abs(found[:, ::20] - expected)) < 1e-12
