"""The toe-held fit against the exact solver, and the ideal pivot against the best straight stack.

One car of each layout, and random cars about it, judged over 60 mm of bump and of droop.
"""

from collections.abc import Iterator

import numpy as np
import pytest
from msgspec.structs import replace

from geometry.pivot_fit import fitted_outer
from optimizer.car.evaluate import Evaluator, scored_travel
from optimizer.car.sampled import moved_corner
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.files.case_file import read_case

from .command_line import CASES

STROKE_MM, STEP_MM = 60.0, 1.0
SPREAD_MM = 6.0  # of the points of a random car, 1 sigma
CARS = {
    "strut": "lowered-strut",
    "double-wishbone": "track-wishbone",
    "twin-link-strut": "tension-link-strut",
    "five-link": "five-link-front",
    "beam-axle": "lifted-beam-axle",
    "leaf-axle": "lifted-leaf-axle",
}
INDEPENDENT = [layout for layout in CARS if not layout.endswith("-axle")]
PULL = np.radians(1e-3)  # a millimeter is only asked for if it saves this much, as by --custom


def car_of(layout: str) -> Evaluator:
    case = read_case(CASES / f"{CARS[layout]}.toml")
    assert case.layout == layout
    return Evaluator.of(case, scored_travel(STROKE_MM, STROKE_MM))


def random_cars(layout: str, count: int) -> Iterator[Evaluator]:
    """The car itself, and cars whose points lie about it."""
    car = car_of(layout)
    yield car
    rng = np.random.default_rng(0)
    sigma = car.case.accuracy.of("wheel_center")[0]
    for _ in range(count):
        errors = rng.normal(size=(1, len(point_names(car.corner)), 3)) * SPREAD_MM / sigma
        yield car.with_corner(moved_corner(car, errors).row(0))


def straight_stacks(evaluator: Evaluator) -> Settings:
    heights = np.arange(-40.0, 40.0 + STEP_MM, STEP_MM)
    choice = np.zeros(heights.shape, dtype=np.intp)
    return Settings(heights, np.zeros(heights.shape), choice)


def exact_peak(evaluator: Evaluator, settings: Settings) -> np.ndarray:
    """Peak toe change by the exact solver of poses, not by the toe-held family. [deg]"""
    toe = evaluator.toe(settings, evaluator.travel)
    change = toe - toe[:, evaluator.home, None] - evaluator.wanted
    return np.degrees(np.abs(change).max(axis=1))


@pytest.mark.parametrize("layout", CARS)
def test_the_best_stack_by_the_toe_held_estimate_is_within_a_step_of_the_exact_best(layout):
    for evaluator in random_cars(layout, 20):
        stacks = straight_stacks(evaluator)
        estimate = np.degrees(np.abs(evaluator.toe_change_estimate(stacks)).max(axis=1))
        best = stacks.outer_drop[np.argmin(estimate)]
        near = np.flatnonzero(np.abs(stacks.outer_drop - best) <= 8.0 * STEP_MM)
        exact = exact_peak(evaluator, stacks.rows(near))
        assert abs(stacks.outer_drop[near[np.argmin(exact)]] - best) <= STEP_MM


@pytest.mark.parametrize("layout", INDEPENDENT)
def test_the_ideal_pivot_leaves_a_fifth_of_what_the_best_straight_stack_does(layout, capsys):
    evaluator = car_of(layout)
    stacks = straight_stacks(evaluator)
    straight = exact_peak(evaluator, stacks)
    best = int(np.argmin(straight))
    seat, inner = evaluator.corner.outer_seat, evaluator.corner.inner
    poses = evaluator.poses(0)
    fit = fitted_outer(poses, seat, inner, np.eye(3), pull=PULL)
    as_is = Settings.single()
    ideal = replace(as_is, outer_move=fit.moves[None], inner_move=np.zeros((1, 3)))
    left = exact_peak(evaluator, ideal)[0]
    with capsys.disabled():
        print(  # noqa: T201
            f"\n{layout:<16} best straight stack {stacks.outer_drop[best]:+5.0f} mm leaves "
            f"{straight[best]:.3f} deg; ideal pivot {np.array2string(fit.moves, precision=1)} mm "
            f"leaves {left:.4f} deg: {straight[best] / left:.0f} times less"
        )
    assert left < straight[best] / 5.0
