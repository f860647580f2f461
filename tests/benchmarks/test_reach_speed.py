"""How long 40 kits at 41 ride heights take, against one `suggest` of the same car.

All times are processor times, so that a busy machine changes them little.
"""

from itertools import product
from time import process_time

import pytest

from optimizer.answers.reach import reach
from optimizer.answers.suggest import suggest
from optimizer.files.case_file import read_car
from optimizer.models.kits import Kit

HEIGHTS = [float(height) for height in range(20, 61)]
RANGES = [
    (0.0, 10.0, 1.0),
    (0.0, 16.0, 1.0),
    (0.0, 20.0, 2.0),
    (0.0, 25.0, 1.0),
    (5.0, 30.0, 1.0),
    (10.0, 35.0, 1.0),
    (0.0, 30.0, 0.5),
    (0.0, 40.0, 2.0),
]
ROD_ENDS = [(15.0, 34.0), (18.0, 34.0), (20.0, 38.0), (22.0, 32.0), (25.0, 40.0)]
ROUNDS = 3
pytestmark = pytest.mark.benchmark(timer=process_time)


def forty_kits() -> list[Kit]:
    return [
        Kit.model_validate(
            {
                "name": f"{low:g} to {high:g} by {step:g}, {tilt:g} deg",
                "seat": "tapered",
                "stack": {"min": low, "max": high, "step": step},
                "rod_end": {
                    "tilt_limit_deg": tilt,
                    "housing_diameter": diameter,
                    "housing_height": 20.0,
                },
            }
        )
        for (low, high, step), (tilt, diameter) in product(RANGES, ROD_ENDS)
    ]


def test_forty_kits_at_forty_one_heights_against_one_suggest(benchmark, row_of_table, any_demo_car):
    car, kits = read_car(any_demo_car), forty_kits()
    suggest(car)  # what is imported and kept on the first call is no part of one answer
    times = []
    for _ in range(ROUNDS):
        start = process_time()
        suggest(car)
        times.append(process_time() - start)
    result = benchmark.pedantic(reach, (car, HEIGHTS, kits), rounds=ROUNDS, warmup_rounds=1)
    assert len(result.heights) == 40 * 41
    spent, one = benchmark.stats.stats.min, min(times)
    row_of_table(
        f"40 kits x 41 ride heights, {any_demo_car.stem}: {spent:.2f} s / one suggest {one:.2f} s",
        f"{spent / one:.2f}",
        "< 5",
    )
