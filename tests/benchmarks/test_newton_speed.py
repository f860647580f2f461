"""How fast the layouts that have no closed form are, against a general-purpose root finder.

A batch is 400 settings at 25 heights, 80 mm either way of ride height.  All times are processor
times, so that a busy machine changes them little.
"""

from pathlib import Path
from time import process_time

import numpy as np
import pytest

from geometry.poses import Reach
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case

from .root_of_constraints import constraints_of, toe_of_poses

CASES = Path(__file__).parents[2] / "cases"
CARS = pytest.mark.parametrize("car", ["tension-link-strut", "five-link-front", "lifted-beam-axle"])
TRAVEL = np.linspace(-80.0, 80.0, 25)
BATCH = 10_000
ANGLE_ATOL_DEG = 1e-9
pytestmark = pytest.mark.benchmark(timer=process_time)


def evaluator_of(car: str) -> Evaluator:
    return Evaluator.of(read_case(CASES / f"{car}.toml"), TRAVEL)


def many_settings() -> Settings:
    draw, count = np.random.default_rng(0), BATCH // TRAVEL.size
    return Settings(
        draw.uniform(0.0, 20.0, count), draw.uniform(-6.0, 6.0, count), np.zeros(count, int)
    )


@CARS
def test_a_root_finder_on_links_finds_the_same_toe(car):
    evaluator, setting = evaluator_of(car), Settings.single(9.0, 3.0)
    found = toe_of_poses(constraints_of(evaluator, setting), evaluator.heights)
    wanted = evaluator.toe(setting, TRAVEL)[0]
    assert np.degrees(found) == pytest.approx(np.degrees(wanted), rel=0.0, abs=ANGLE_ATOL_DEG)


@CARS
def test_poses_by_newton_against_a_root_finder(benchmark, row_of_table, car):
    evaluator, settings = evaluator_of(car), many_settings()
    lengths = evaluator.rod_length(settings)
    batch = (settings, TRAVEL, 0.0, lengths)
    motion = benchmark.pedantic(evaluator.motion, batch, rounds=7, warmup_rounds=1)
    assert motion.reach.size == BATCH
    assert (motion.reach == Reach.REACHED).all()
    rate = BATCH / benchmark.stats.stats.min

    constraints, times = constraints_of(evaluator, settings.rows(np.arange(1))), []
    for _ in range(3):
        start = process_time()
        toe_of_poses(constraints, evaluator.heights)
        times.append(process_time() - start)
    slow_rate = (TRAVEL.size + 1) / min(times)  # the height nearest to measured is solved twice

    row_of_table(f"whole pose by Newton, {car}, 10,000", f"{rate:,.0f} /s", ">= 50,000 /s")
    row_of_table("  whole pose by scipy.optimize.root", f"{slow_rate:,.0f} /s")
    row_of_table("  whole pose / root", f"{rate / slow_rate:,.0f}", ">= 100")
