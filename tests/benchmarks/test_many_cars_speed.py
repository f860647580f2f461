"""How fast settings are scored in possible cars, beside what the matrix library could do.

All times are processor times, so that a busy machine changes them little.
"""

from time import process_time

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.files.case_file import read_case

from .test_speed import ROOT, many_settings, seconds_of

CARS, SETTINGS, BLAS_SIDE = 4096, 300, 1500
CLOSED, NEWTON = ("lowered-strut", "track-wishbone"), ("five-link-front", "lifted-beam-axle")
pytestmark = pytest.mark.benchmark(timer=process_time)


def blas_peak() -> float:
    """Multiplications and additions a second of one large matrix product."""
    square = np.ones((BLAS_SIDE, BLAS_SIDE))
    return 2.0 * BLAS_SIDE**3 / seconds_of(lambda: square @ square)


@pytest.mark.parametrize("name", [*CLOSED, *NEWTON])
def test_three_hundred_settings_in_four_thousand_cars(benchmark, row_of_table, name):
    evaluator = Evaluator.of(read_case(ROOT / "cases" / f"{name}.toml"))
    settings = many_settings(evaluator, SETTINGS)
    solved = {}

    def scored():
        cars = ManyCars.drawn(evaluator, seed=0, count=CARS)
        start = process_time()
        cars.family(0)
        solved["poses"] = process_time() - start
        return cars.peaks(settings)

    peaks = benchmark.pedantic(scored, rounds=2, warmup_rounds=0)
    assert peaks.shape == (SETTINGS, CARS)
    assert evaluator.travel.size == 25
    seconds = benchmark.stats.stats.min
    rate = peaks.size * evaluator.travel.size / seconds
    row_of_table(
        f"{CARS:,} cars x {SETTINGS} settings x 25 heights, {name}",
        f"{seconds:.2f} s",
        "< 1 s" if name in CLOSED else "< 10 s",
    )
    row_of_table("  of it poses", f"{solved['poses']:.2f} s")
    row_of_table(
        "  candidate-heights / multiply-adds of one matrix product",
        f"{rate / 1e6:.0f} M/s / {blas_peak() / 2e9:.1f} G/s",
    )
