"""How fast whole programs are, against importing the packages that they stand on.

Processor time of the program over that of the imports, each run beside one of the other in turn, so
that a machine whose speed drifts changes little; the median is printed.
"""

import os
import re
import resource
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import pytest

from optimizer.answers.suggest import suggest
from optimizer.files.case_file import read_car
from optimizer.files.starters import starter
from optimizer.gauging.before_reading import readings_before

ROOT = Path(__file__).parents[2]
CASES = ROOT / "cases"
IMPORTS = "import numpy, optuna, pydantic, rich"
ROUNDS = 3
IN_CLOSED_FORM_OR_ON_LINKS = 2.2
TWO_WHEELS_OR_A_BEAM = 3.3
HEAVY = ("two-sided-wishbone", "lifted-beam-axle", "lifted-leaf-axle")
CARS = sorted(path.stem for path in CASES.glob("*.toml") if path.stem != "kits")
MADE_TO_MEASURE = [
    name for name in CARS if "[custom_pivot]" in (CASES / f"{name}.toml").read_text("utf-8")
]
SPEEDS = [
    (("--help",), 0.2),
    *(
        (
            ("suggest", f"cases/{name}.toml"),
            TWO_WHEELS_OR_A_BEAM if name in HEAVY else IN_CLOSED_FORM_OR_ON_LINKS,
        )
        for name in CARS
    ),
    *(
        (
            ("suggest", f"cases/{name}.toml", "--kits", "cases/kits.toml"),
            6.0 if name.endswith("-axle") else 4.0,
        )
        for name in CARS
    ),
    *((("suggest", f"cases/{name}.toml", "--custom"), 6.0) for name in MADE_TO_MEASURE),
    (("gauge", "cases/lowered-strut.toml", "cases/readings/lowered-strut.toml"), 2.2),
]
MANY = 100
MANY_READINGS = "track-wishbone"
COMMENTED = re.compile(r"(?m)^#(?=[a-z\[])")
pytestmark = pytest.mark.benchmark(timer=perf_counter)  # processor time is in the table


def processor_seconds(*arguments: str) -> float:
    """Processor time of a Python process, user and system. [s]."""
    kept = {name: x for name, x in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    ended = subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        check=False,
        capture_output=True,
        env=kept,
    )
    assert ended.returncode in (0, 1), ended.stderr  # 1: nothing that can be built is within
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def ratio_to_imports(*command: str) -> float:
    """Median of the program's processor time over that of the imports, run in turn."""
    processor_seconds("-m", "optimizer.cli", *command)  # compiles what is not compiled yet
    return median(
        processor_seconds("-m", "optimizer.cli", *command) / processor_seconds("-c", IMPORTS)
        for _ in range(ROUNDS)
    )


@pytest.mark.parametrize(("command", "goal"), SPEEDS, ids=[" ".join(of) for of, _ in SPEEDS])
def test_a_program_against_bare_imports(benchmark, row_of_table, command, goal):
    ratio = benchmark.pedantic(ratio_to_imports, command, rounds=1)
    assert ratio > 0.0
    words = " ".join(Path(word).stem if "/" in word else word for word in command)
    row_of_table(f"pivotwright {words} / {IMPORTS!r}", f"{ratio:.2f}", f"<= {goal}")


def test_a_gauge_with_every_reading_there_is(benchmark, row_of_table, tmp_path):
    head, _, beside = starter("readings", "two-dial").partition("# Beside the toe")
    path = tmp_path / "visit.toml"
    path.write_text(f"{head}# {re.sub(COMMENTED, '', beside)}", encoding="utf-8")
    car = f"cases/{MANY_READINGS}.toml"
    ratio = benchmark.pedantic(ratio_to_imports, ("gauge", car, str(path)), rounds=1)
    row_of_table(f"gauge with seven kinds of readings / {IMPORTS!r}", f"{ratio:.2f}", "< 2.5")


def test_the_ranking_of_what_to_read(benchmark, row_of_table):
    car = read_car(CASES / f"{MANY_READINGS}.toml")
    readings_before(car)  # what is imported and kept on the first call is no part of it

    def ratio() -> float:
        start = process_time()
        readings_before(car)
        return (process_time() - start) / processor_seconds("-c", IMPORTS)

    found = benchmark.pedantic(lambda: median(ratio() for _ in range(ROUNDS)), rounds=1)
    row_of_table(f"ranking of what to read first / {IMPORTS!r}", f"{found:.2f}", "< 5")


def test_a_hundred_cars_in_one_process(benchmark, row_of_table):
    cars = [read_car(CASES / f"{name}.toml") for name in CARS if name not in HEAVY]
    suggest(cars[0])  # what is imported and kept on the first call is no part of one answer

    def answered() -> float:
        start = process_time()
        for number in range(MANY):
            suggest(cars[number % len(cars)])
        return (process_time() - start) / MANY

    spent = benchmark.pedantic(answered, rounds=1)
    row_of_table(f"{MANY} cars in one process, warm, a car", f"{1e3 * spent:.0f} ms", "<= 80 ms")
