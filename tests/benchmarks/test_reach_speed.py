"""How long 40 kits at 41 ride heights take, against one `suggest` of the same car.

All times are processor times, so that a busy machine changes them little.
"""

from time import process_time

import pytest

from optimizer.answers.reach import reach
from optimizer.answers.suggest import suggest
from optimizer.files.case_file import read_car
from tests.optimizer.command_line import WISHBONE

from .many_kits import many_kits

HEIGHTS = [float(height) for height in range(20, 61)]
ROUNDS = 3
pytestmark = pytest.mark.benchmark(timer=process_time)


def test_forty_kits_at_forty_one_heights_against_one_suggest(benchmark, row_of_table, any_demo_car):
    car, kits = read_car(any_demo_car), many_kits(40)
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


@pytest.mark.parametrize(("count", "goal"), [(300, 2), (5000, 20)])
def test_thousands_of_kits_at_one_height(benchmark, row_of_table, count, goal):
    car, kits = read_car(WISHBONE), many_kits(count)
    height = car.case.ride.lowered_by
    reach(car, [height], kits[:1])
    result = benchmark.pedantic(reach, (car, [height], kits), rounds=1)
    assert len(result.heights) == count
    spent = benchmark.stats.stats.min
    row_of_table(
        f"{count:,} kits x 1 ride height, track-wishbone", f"{spent:.2f} s", f"<= {goal} s"
    )


def test_three_hundred_kits_ranked(benchmark, row_of_table):
    car, kits = read_car(WISHBONE), many_kits(300)
    suggest(car, kits[:1])
    result = benchmark.pedantic(suggest, (car, kits), rounds=1)
    assert len(result.ranked) == 301
    spent = benchmark.stats.stats.min
    row_of_table("suggest --kits with 300 kits, track-wishbone", f"{spent:.2f} s", "<= 2 s")
