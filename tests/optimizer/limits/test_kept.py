"""Limits in many cars, to first order, against every limit of each car followed exactly."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.files.case_file import read_car, read_case
from optimizer.limits.kept import margins_in_cars
from optimizer.limits.margins import margins
from optimizer.limits.near import MOST_GAPS
from optimizer.models.obstacles import Tube
from optimizer.options.dimensions import option_space
from optimizer.options.ranking import ranked
from tests.optimizer.command_line import CASES, WISHBONE

SETTINGS = Settings(np.array([0.0, 7.5, 12.0]), np.array([0.0, 4.0, 2.0]), np.zeros(3, np.intp))


def both_ways(evaluator, settings, count):
    """Margins of settings in some cars: to first order and exact, by limit."""
    points = np.random.default_rng(2).normal(size=(count, len(point_names(evaluator.corner)), 3))
    cars = ManyCars.of(evaluator, points, np.zeros((count, len(BUILT))))
    found = margins(evaluator, settings, follow="smallest")
    each = [
        margins(evaluator.with_corner(cars.corner.row(k)), settings, follow="smallest")
        for k in range(count)
    ]
    exact = {
        (one.kind, one.name): np.stack([one.margin, *(x.margin for x in others)], axis=1)[:, 1:]
        for one, *others in zip(each[0], *each, strict=True)
    }
    return [
        (one, left, exact[one.kind, one.name])
        for one, left in margins_in_cars(evaluator, settings, found, cars)
    ]


def test_margins_to_first_order_are_those_of_each_car_but_for_a_small_share_of_their_spread():
    told = both_ways(Evaluator.of(read_case(WISHBONE)), SETTINGS, 20)
    assert {"tilt", "gap"} <= {one.kind for one, _, _ in told}
    for one, left, exact in told:
        spread = exact.std(axis=1).max()
        assert spread > 0.1
        assert np.abs(left - exact).max() < 0.35 * spread, one.name


@pytest.mark.slow
def test_as_many_cars_keep_a_limit_as_the_exact_motion_finds(demo_car):
    space = option_space(read_car(demo_car))
    (wheel,), first = space.wheels, ranked(space, 1).fitting[0]
    settings = wheel.settings.rows(np.array(first.rows))
    for one, left, exact in both_ways(wheel.evaluator, settings, 40):
        # Where it decides: a limit that some of the cars keep; one car is 0.025.
        for share in (0.1, 0.3, 0.5):
            kept = np.mean(left >= np.quantile(exact, share, axis=1, keepdims=True), axis=1)
            assert kept == pytest.approx(1.0 - share, abs=0.08), one.name


def test_gaps_to_all_but_the_nearest_parts_count_as_measured():
    tubes = tuple(
        Tube(
            name=f"tube {k}",
            fixed_to="chassis",
            start=(x, 350.0, 300.0),
            end=(x, 350.0, 420.0),
            diameter=6.0,
        )
        for k, x in enumerate(np.linspace(-400.0, 400.0, 30))
    )
    case = read_case(WISHBONE)
    evaluator = Evaluator.of(case.model_copy(update={"obstacles": (*case.obstacles, *tubes)}))
    found = margins(evaluator, SETTINGS, follow="smallest")
    cars = ManyCars.drawn(evaluator, seed=0, count=8)
    gaps = [
        (one, left)
        for one, left in margins_in_cars(evaluator, SETTINGS, found, cars)
        if one.kind == "gap"
    ]
    still = [one for one, left in gaps if (left == one.margin[:, None]).all()]
    assert len(gaps) == sum(one.kind == "gap" for one in found)
    assert len(gaps) - len(still) == MOST_GAPS
    nearest = min(np.nanmin(one.margin) for one in still)
    assert all(np.nanmin(one.margin) <= nearest for one, _ in gaps if one not in still)


def test_a_margin_without_errors_is_the_one_that_was_followed():
    evaluator = Evaluator.of(read_case(WISHBONE))
    none = ManyCars.of(
        evaluator, np.zeros((1, len(point_names(evaluator.corner)), 3)), np.zeros((1, len(BUILT)))
    )
    found = margins(evaluator, SETTINGS, follow="smallest")
    for one, left in margins_in_cars(evaluator, SETTINGS, found, none):
        assert left[:, 0] == pytest.approx(one.margin, abs=1e-6), one.name


def test_a_higher_stack_takes_its_own_error_from_a_thread_and_nothing_from_a_tilt_limit():
    evaluator = Evaluator.of(read_case(CASES / "kit-car-inches.toml"))
    points = np.zeros((2, len(point_names(evaluator.corner)), 3))
    rod = BUILT.index("rod")
    built = np.zeros((2, len(BUILT)))
    built[1, rod] = 1.0
    cars = ManyCars.of(evaluator, points, built)
    found = margins(evaluator, SETTINGS, follow="smallest")
    (thread,) = [
        left
        for one, left in margins_in_cars(evaluator, SETTINGS, found, cars)
        if one.kind == "thread"
    ]
    # Play moves the rod's length by itself, and the thread's engagement by no more.
    assert np.abs(thread[:, 1] - thread[:, 0]).max() == pytest.approx(
        evaluator.case.accuracy.rod_play, rel=0.25
    )
