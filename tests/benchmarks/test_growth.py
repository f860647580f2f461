"""How computation grows with settings, heights, kits, obstacles and cars, as exponents.

An exponent is the slope of the logarithm of processor time over that of the size, from three sizes
of which each is four times the one before: 1 is in proportion, 2 quadratic.
"""

from collections.abc import Callable
from pathlib import Path
from time import process_time

import numpy as np
import pytest

from optimizer.answers.reach import reach
from optimizer.answers.screen import screened_rows
from optimizer.answers.suggest import suggest
from optimizer.files.case_file import read_case
from optimizer.models.obstacles import Tube
from optimizer.models.shelf import OuterPivot, Stack
from optimizer.models.vehicle import Vehicle

from .many_kits import many_kits

CAR = read_case(Path(__file__).parents[2] / "cases" / "track-wishbone.toml")
ROUNDS = 3
pytestmark = pytest.mark.benchmark(timer=process_time)


def with_settings(count: int) -> Vehicle:
    stack = Stack(min=0.0, max=30.0, step=30.0 / count)
    return Vehicle((CAR.model_copy(update={"outer_pivot": OuterPivot(stack=stack)}),))


def with_tubes(count: int) -> Vehicle:
    tubes = tuple(
        Tube.model_validate(
            {
                "kind": "tube",
                "name": f"tube {k}",
                "fixed_to": "chassis",
                "start": [400.0 + 0.5 * k, 300.0, 400.0],
                "end": [400.0 + 0.5 * k, 600.0, 420.0],
                "diameter": 20.0,
            }
        )
        for k in range(count)
    )
    return Vehicle((CAR.model_copy(update={"obstacles": (*CAR.obstacles, *tubes)}),))


def screen_cars(count: int) -> None:
    for _ in range(count):
        screened_rows(Vehicle((CAR,)), [20.0, 30.0], many_kits(4))


GROWTHS: dict[str, tuple[tuple[int, int, int], Callable[[int], object], float]] = {
    "settings, suggest": ((1000, 4000, 16000), lambda n: suggest(with_settings(n)), 1.1),
    "heights, reach": (
        (8, 32, 128),
        lambda n: reach(Vehicle((CAR,)), np.linspace(0.0, 50.0, n).tolist()),
        1.1,
    ),
    "kits, reach at one height": (
        (100, 400, 1600),
        lambda n: reach(Vehicle((CAR,)), [30.0], many_kits(n)),
        1.2,
    ),
    "kits, suggest": ((10, 40, 160), lambda n: suggest(Vehicle((CAR,)), many_kits(n)), 1.2),
    "obstacles, suggest": ((300, 1200, 4800), lambda n: suggest(with_tubes(n)), 1.1),
    "cars, screened": ((2, 8, 32), screen_cars, 1.1),
}


@pytest.mark.parametrize("what", GROWTHS)
def test_growth(benchmark, row_of_table, what):
    sizes, work, most = GROWTHS[what]
    work(sizes[0])  # what is imported and kept on the first call is no part of the growth

    def least_times() -> list[float]:
        times = []
        for size in sizes:
            spent = []
            for _ in range(ROUNDS):
                start = process_time()
                work(size)
                spent.append(process_time() - start)
            times.append(min(spent))
        return times

    times = benchmark.pedantic(least_times, rounds=1)
    exponent = float(np.polyfit(np.log(sizes), np.log(times), 1)[0])
    shown = ", ".join(f"{n:,} in {spent:.2f} s" for n, spent in zip(sizes, times, strict=True))
    row_of_table(f"growth with {what}: {shown}", f"{exponent:.2f}", f"<= {most}")
