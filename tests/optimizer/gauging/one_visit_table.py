"""What one visit came to: kept as rows, summed up as the table that the guide shows."""

import re
from collections.abc import Callable

import numpy as np

from tests.slow_study import SlowStudy

from .garage_cars import KINDS
from .one_visit import GROUPS, NEAR_DEG, NEARER_DEG, SEED, STAGES, Visit, visits

STUDY = SlowStudy(
    "one_visit",
    ("kind", "group"),
    Visit,
    decimals=4,
    guide="optimizer/gauging/README.md",
    shown=re.compile(r"```text\n(?=[^`]*bound kept\n)([^`]*\+ rod turned.*?)```", re.DOTALL),
)
OF_EACH = 14  # cars of each kind and group
HEADS = ("one sweep", "+ rod turned", "+ camber", "+ 3 with stack")
NAME, CELL = 24, 17  # columns

Found = dict[str, dict[str, list[Visit]]]  # by kind and group


def group_name(group: tuple[float, float]) -> str:
    """Name of a group of corrections."""
    return f"{group[0]:g}-{group[1]:g}"


def found_now(say: Callable[[str], None]) -> Found:
    """Let all cars come for their visit; takes half an hour of a free core."""
    found: Found = {}
    for kind in KINDS:
        found[kind.name] = {}
        for group in GROUPS:
            found[kind.name][group_name(group)] = visits(kind, group, OF_EACH)
            say(f"{kind.name}, {group_name(group)} mm: {OF_EACH} cars")
    return found


def all_of(found: Found) -> list[Visit]:
    """All cars, of every kind and group."""
    return [car for groups in found.values() for cars in groups.values() for car in cars]


def losses(cars: list[Visit], stage: str) -> np.ndarray:
    """How much more each car peaks after a stage than with the best there is. [deg]."""
    return np.array([getattr(car, stage) - car.best for car in cars])


def near(cars: list[Visit], stage: str, within: float) -> float:
    """Share of the cars that come within so much of the best."""
    return float(np.mean(losses(cars, stage) <= within + 1e-9))


def keeps_bound(cars: list[Visit], stage: str) -> float:
    """Share of the cars that stay below the 95 % bound promised after a stage."""
    return float(np.mean([getattr(x, stage) <= getattr(x, f"{stage}_bound") for x in cars]))


def table(found: Found) -> str:
    """Share within 0.03 and 0.01 deg of the best after each stage, and share of bounds kept."""
    everyone = all_of(found)
    lines = [
        f"{len(everyone)} cars, {OF_EACH} of each kind and correction, seed {SEED}: within 0.03 / "
        "0.01 deg of the best, bound kept",
        "".join([" " * NAME, *(head.rjust(CELL) for head in HEADS)]),
    ]
    rows = {"all": everyone}
    most = _most_line(everyone)
    rows |= {kind: all_of({kind: groups}) for kind, groups in found.items()}
    for name in map(group_name, GROUPS):
        rows[f"{name} mm"] = [car for groups in found.values() for car in groups[name]]
    first, *others = (_line(name, cars) for name, cars in rows.items())
    return "\n".join([*lines, first, most, *others]) + "\n"


def most_near(cars: list[Visit], stage: str, which: str = "near") -> float:
    """Share of the cars that the best of all choices can be expected to bring so near."""
    return float(np.mean([getattr(car, f"{stage}_{which}") for car in cars]))


def _most_line(cars: list[Visit]) -> str:
    """What no choice could be expected to exceed; blank where the bounds kept stand."""
    cells = [
        f"{most_near(cars, stage) * 100.0:.0f}/{most_near(cars, stage, 'nearer') * 100.0:.0f}     "
        for stage in STAGES
    ]
    return "".join(["any choice, at most".ljust(NAME), *(x.rjust(CELL) for x in cells)]).rstrip()


def _line(name: str, cars: list[Visit]) -> str:
    cells = [
        f"{near(cars, stage, NEAR_DEG) * 100.0:.0f}/{near(cars, stage, NEARER_DEG) * 100.0:.0f} "
        f"{keeps_bound(cars, stage) * 100.0:.0f}%"
        for stage in STAGES
    ]
    return "".join([name.ljust(NAME), *(cell.rjust(CELL) for cell in cells)])
