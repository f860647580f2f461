"""How often stated chances came true: places kept as rows, counted as the table of the guide."""

import re

import numpy as np

from geometry.vectors import Array
from tests.optimizer.gauging.garage_cars import KINDS, Kind
from tests.slow_study import SlowStudy

from .calibration import DRAWN, SEED, Places, columns, places
from .true_cars import ANY_CAR, EVERY_KIND, Population

STUDY = SlowStudy(
    "calibration",
    ("cars", "kind"),
    Places,
    decimals=0,
    guide="optimizer/reports/README.md",
    shown=re.compile(r"```text\n(?=stated, of 100 cars)(.*?)```", re.DOTALL),
)
STATED = tuple(range(10, 100, 10))  # of 100
ONE_MODEL = Population("one model of car", higher=(0.0, 0.0))
COUNTS: dict[Population, tuple[list[Kind], int]] = {
    ANY_CAR: (EVERY_KIND, 1000),
    ONE_MODEL: (KINDS[:3], 400),
}
QUESTIONS = {
    "best": "peak, best by tape",
    "left": "peak, left alone",
    "tilt": "tilt left",
    "gap": "gap",
    "thread": "thread engaged",
}
NAME = 44

Found = dict[str, dict[str, list[Places]]]  # by population and kind


def found_now() -> Found:
    """Measure, build and find out all cars of all kinds; takes half an hour."""
    return {
        population.name: {kind.name: places(kind, population, count) for kind in kinds}
        for population, (kinds, count) in COUNTS.items()
    }


def came_true(placed: Array) -> Array:
    """Share of the truths that lie below what was stated with each chance of `STATED`, (9,)."""
    edges = (DRAWN + 1) * np.array(STATED) / 100.0
    share: Array = (placed[:, None] < edges).mean(axis=0)
    return share


def table(found: Found) -> str:
    """Stated chances, and what came true of them: of each kind of car, and of all.

    Of each kind the peak that is best by tape, or of cars of one model that of the car left alone.
    """
    stated = "".join(f"{x:>5}" for x in STATED)
    lines = [f"{'stated, of 100 cars':{NAME}}{stated}"]
    for population, kinds in found.items():
        (count,) = {len(cars) for cars in kinds.values()}
        lines += ["", f"{population}; {count:,} of each kind, seed {SEED}"]
        question = "left" if population == ONE_MODEL.name else "best"
        lines += [
            _line(f"{kind}: {QUESTIONS[question]}", columns(cars)[question])
            for kind, cars in kinds.items()
        ]
        every = columns([car for cars in kinds.values() for car in cars])
        lines += [_line(f"all: {QUESTIONS[name]}", placed) for name, placed in every.items()]
    return "\n".join(lines) + "\n"


def _line(name: str, placed: Array) -> str:
    return name.ljust(NAME) + "".join(f"{100.0 * share:5.0f}" for share in came_true(placed))
