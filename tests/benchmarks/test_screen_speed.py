"""How long many cars take, against one `suggest` of each; how much memory; what a second core does.

Computation is processor time, of the program and all its processes.  Memory is what they hold
together, shared pages counted once, as it is seen ten times a second.
"""

import resource
import subprocess
import sys
import time
from pathlib import Path
from time import perf_counter, process_time

import pytest

from optimizer.answers.suggest import suggest
from optimizer.files.case_file import read_car
from optimizer.screening.crews import cores
from tests.optimizer.screening.many_cars import DEMO_KINDS, write_cars

from .many_kits import kits_file

CARS, KITS, HEIGHTS = 200, 10, "0:50:5"
CARS_OF_A_RACE, RACES = 48, 3
MEMORY_GOAL_MB = 400
pytestmark = pytest.mark.benchmark(timer=perf_counter)


def screen(cars: Path, kits: Path, to: Path, workers: int) -> tuple[float, float, float]:
    """Screen in a process of its own: processor time and wall time [s], peak memory [MB]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start, peak = perf_counter(), 0.0
    words = ["screen", cars, "--kits", kits, "--heights", HEIGHTS, "--to", to]
    program = subprocess.Popen(
        [sys.executable, "-m", "optimizer.cli.main", *map(str, words), "--workers", str(workers)],
        cwd=Path(__file__).parents[2],
        stdout=subprocess.DEVNULL,
    )
    while program.poll() is None:
        peak = max(peak, memory_mb(program.pid))
        time.sleep(0.1)
    wall = perf_counter() - start
    assert program.returncode == 0
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return spent, wall, peak


def memory_mb(process: int) -> float:
    """Memory of a process and its children, shared pages counted once. [MB]."""
    total = 0.0
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            parent = int(status.read_text().rpartition(")")[2].split()[1])
            if process in (parent, int(status.parent.name)):
                rollup = (status.parent / "smaps_rollup").read_text()
                total += int(rollup.split("\nPss:")[1].split()[0]) / 1024
        except (OSError, IndexError):
            continue
    return total


@pytest.mark.skipif(not Path("/proc/self/smaps_rollup").exists(), reason="reads memory in /proc")
def test_two_hundred_cars_against_a_suggest_of_each(benchmark, row_of_table, tmp_path):
    cars, kits = tmp_path / "cars", kits_file(tmp_path, KITS)
    write_cars(cars, CARS, like=DEMO_KINDS)
    vehicles = [read_car(path) for path in sorted(cars.glob("*.toml"))]
    suggest(vehicles[0])  # what is imported and kept on the first call is no part of one answer
    start = process_time()
    for vehicle in vehicles:
        suggest(vehicle)
    bare = process_time() - start
    arguments = (cars, kits, tmp_path / "to", cores())
    spent, _, peak = benchmark.pedantic(screen, arguments, rounds=1)
    what = f"{CARS} cars x {KITS} kits x 11 heights screened: {spent:.0f} s"
    row_of_table(f"{what} / {CARS} suggest {bare:.0f} s", f"{spent / bare:.2f}", "<= 10")
    row_of_table(f"  peak memory, {cores()} processes", f"{peak:.0f} MB", f"< {MEMORY_GOAL_MB} MB")


@pytest.mark.skipif(cores() < 2, reason="has one core")
def test_twice_the_cores(benchmark, row_of_table, tmp_path):
    cars, kits = tmp_path / "cars", kits_file(tmp_path, KITS)
    write_cars(cars, CARS_OF_A_RACE, like=DEMO_KINDS)

    def raced() -> tuple[float, float]:
        """Least wall times of one and two workers, run in turn. [s]."""
        times = [
            [screen(cars, kits, tmp_path / f"{workers}-{k}", workers)[1] for workers in (1, 2)]
            for k in range(RACES)
        ]
        return min(one for one, _ in times), min(two for _, two in times)

    one, two = benchmark.pedantic(raced, rounds=1)
    what = f"{CARS_OF_A_RACE} cars screened: 1 core {one:.1f} s / 2 cores {two:.1f} s"
    row_of_table(what, f"{one / two:.2f}", ">= 1.7")
