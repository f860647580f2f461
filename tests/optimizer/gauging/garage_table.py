"""What the garage found: kept as rows, summed up as the table that the guide shows."""

import re
from collections.abc import Callable

import numpy as np
from scipy.stats import binomtest

from tests.slow_study import SlowStudy

from .garage import SEED, Outcome, Work, outcomes
from .garage_cars import KINDS

STUDY = SlowStudy(
    "garage",
    ("work", "kind"),
    Outcome,
    decimals=4,
    guide="optimizer/gauging/README.md",
    shown=re.compile(r"```text\n(?=[^`]*its 95 %)(.*?)```", re.DOTALL),
)
NEAR_DEG = 0.03
WORKS = {
    Work("1 to 10 mm", (1.0, 10.0)): 100,  # cars of each kind
    Work("1 to 20 mm", (1.0, 20.0)): 40,
    Work("1 to 10 mm, rack spacers", (1.0, 10.0), (-6.0, -3.0, 0.0, 3.0, 6.0)): 40,
}
USUAL = next(iter(WORKS))
NAME, CELL, WIDE, LAST = 23, 11, 20, 14  # columns

Found = dict[str, dict[str, list[Outcome]]]  # by work and kind


def found_now(say: Callable[[str], None]) -> Found:
    """Let all cars of all kinds through the garage for every work; takes a quarter of an hour."""
    found: Found = {}
    for work, count in WORKS.items():
        found[work.name] = {}
        for kind in KINDS:
            found[work.name][kind.name] = outcomes(kind, work, count, again=True)
            say(f"{work.name}, {kind.name}: {count} cars")
    return found


def regrets(cars: list[Outcome], method: str) -> np.ndarray:
    """How much more each car peaks with a method than with the best there is. [deg]."""
    return np.array([getattr(car, method) - car.best for car in cars])


def near(cars: list[Outcome], method: str) -> np.ndarray:
    """Whether each car comes within `NEAR_DEG` of the best, (N,) bool."""
    return regrets(cars, method) <= NEAR_DEG + 1e-9


def keeps_promise(cars: list[Outcome]) -> np.ndarray:
    """Whether each car stays below its 95 % bound, (N,) bool."""
    return np.array([car.first <= car.promised for car in cars])


def share(which: np.ndarray) -> str:
    """Share of the cars and its 95 % interval (Wilson's)."""
    count = int(which.sum())
    low, high = binomtest(count, which.size).proportion_ci(method="wilson")
    return f"{which.mean():.0%} ({100.0 * low:.0f}-{100.0 * high:.0f})"


def table(found: Found) -> str:
    """Every method on every kind of car, and in all."""
    lines = [
        f"{'':{NAME}}{'left':>{CELL}}{'parallel':>{CELL}}{'points':>{CELL}}{'gauge,':>{WIDE}}"
        f"{'gauge,':>{CELL}}{'its 95 %':>{LAST}}",
        f"{'':{NAME}}{'alone':>{CELL}}{'rod':>{CELL}}{'by tape':>{CELL}}{'one sweep':>{WIDE}}"
        f"{'2 sweeps':>{CELL}}{'bound kept':>{LAST}}",
    ]
    for work, kinds in found.items():
        lines += ["", f"{work}; {len(next(iter(kinds.values())))} cars of each kind, seed {SEED}"]
        together = [car for cars in kinds.values() for car in cars]
        lines += [_line(name, cars) for name, cars in (kinds | {"all": together}).items()]
    return "\n".join(lines) + "\n"


def _line(name: str, cars: list[Outcome]) -> str:
    cells = [name.ljust(NAME)]
    for method, width in (
        ("left_alone", CELL),
        ("parallel", CELL),
        ("tape", CELL),
        ("first", WIDE),
        ("second", CELL),
    ):
        within = near(cars, method)
        part = share(within) if method == "first" else f"{within.mean():.0%}"
        cells.append(f"{part} {np.median(regrets(cars, method)):.3f}".rjust(width))
    return "".join(cells) + share(keeps_promise(cars)).rjust(LAST)
