"""How long many cars take, against one `suggest` of each; how much memory; what a second core does.

Computation is processor time, of the program and all its processes.  Memory is what they hold
together, shared pages counted once, as it is seen ten times a second.  Wall times on a machine that
others use say little; the longest way is what a free one would have to wait for.
"""

import os
import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, process_time

import pytest

from optimizer.answers.suggest import suggest
from optimizer.files.case_file import read_car
from optimizer.screening.processes import cores
from tests.optimizer.screening.many_cars import DEMO_KINDS, write_cars

from .many_kits import kits_file

CARS, KITS, HEIGHTS = 200, 10, "0:50:5"
CARS_OF_A_RACE, RACES = 48, 2
MEMORY_GOAL_MB = 400
pytestmark = pytest.mark.benchmark(timer=perf_counter)


@dataclass
class Run:
    """A screening: processor and wall time [s], peak memory [MB], and what each process spent."""

    spent: float
    wall: float
    peak_mb: float
    of_each: dict[int, float]

    @property
    def longest_way(self) -> float:
        """Processor time of what hands the work out, and of its busiest worker. [s]."""
        program, *workers = self.of_each.values()
        return program + max(workers)


def screen(cars: Path, kits: Path, to: Path, workers: int) -> Run:
    """Screen in processes of their own."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start, peak, of_each = perf_counter(), 0.0, dict[int, float]()
    words = ["screen", cars, "--kits", kits, "--heights", HEIGHTS, "--to", to]
    program = subprocess.Popen(
        [sys.executable, "-m", "optimizer.cli", *map(str, words), "--workers", str(workers)],
        cwd=Path(__file__).parents[2],
        stdout=subprocess.DEVNULL,
    )
    while program.poll() is None:
        memory, seconds = seen(program.pid)
        peak = max(peak, memory)
        of_each |= seconds
        time.sleep(0.1)
    assert program.returncode == 0
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Run(spent, perf_counter() - start, peak, of_each)


def seen(process: int) -> tuple[float, dict[int, float]]:
    """Memory of a process and its children [MB], and processor time of each by its number [s]."""
    memory, seconds = 0.0, dict[int, float]()
    for status in sorted(Path("/proc").glob("[0-9]*/stat"), key=lambda one: int(one.parent.name)):
        try:
            words = status.read_text().rpartition(")")[2].split()
            number = int(status.parent.name)
            if process in (int(words[1]), number):
                rollup = (status.parent / "smaps_rollup").read_text()
                memory += int(rollup.split("\nPss:")[1].split()[0]) / 1024
                seconds[number] = (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")
        except (OSError, IndexError):
            continue
    return memory, seconds


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
    run = benchmark.pedantic(screen, arguments, rounds=1)
    spent, peak = run.spent, run.peak_mb
    what = f"{CARS} cars x {KITS} kits x 11 heights screened: {spent:.0f} s"
    row_of_table(f"{what} / {CARS} suggest {bare:.0f} s", f"{spent / bare:.2f}", "<= 10")
    row_of_table(f"  peak memory, {cores()} processes", f"{peak:.0f} MB", f"< {MEMORY_GOAL_MB} MB")


@pytest.mark.skipif(cores() < 2, reason="has one core")
def test_twice_the_cores(benchmark, row_of_table, tmp_path):
    cars, kits = tmp_path / "cars", kits_file(tmp_path, KITS)
    write_cars(cars, CARS_OF_A_RACE, like=DEMO_KINDS)

    def raced() -> list[tuple[Run, Run]]:
        """One and two workers, run in turn."""
        return [
            (screen(cars, kits, tmp_path / f"1-{k}", 1), screen(cars, kits, tmp_path / f"2-{k}", 2))
            for k in range(RACES)
        ]

    runs = benchmark.pedantic(raced, rounds=1)
    for what, of in (("wall time", "wall"), ("longest way, processor time", "longest_way")):
        one, two = (min(getattr(pair[k], of) for pair in runs) for k in range(2))
        told = f"{CARS_OF_A_RACE} cars screened, {what}: 1 core {one:.1f} s / 2 cores {two:.1f} s"
        row_of_table(told, f"{one / two:.2f}", ">= 1.7")
