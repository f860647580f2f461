"""What one visit came to: kept as rows, summed up as the table that the guide shows."""

import csv
from collections.abc import Callable
from dataclasses import asdict, fields
from pathlib import Path

import numpy as np

from .garage_cars import KINDS
from .one_visit import GROUPS, NEAR_DEG, NEARER_DEG, SEED, STAGES, Visit, visits

KEPT = Path(__file__).parents[2] / "golden" / "one_visit.csv"
DECIMALS = 4
OF_EACH = 14  # cars of each kind and group
HEADS = ("one sweep", "+ rod turned", "+ camber", "+ 3 with stack")
NAME, CELL = 24, 17  # columns

Found = dict[tuple[str, str], list[Visit]]  # by kind and group


def group_name(group: tuple[float, float]) -> str:
    """Name of a group of corrections."""
    return f"{group[0]:g}-{group[1]:g}"


def found_now(say: Callable[[str], None]) -> Found:
    """Let all cars come for their visit; takes half an hour of a free core."""
    found: Found = {}
    for kind in KINDS:
        for group in GROUPS:
            found[kind.name, group_name(group)] = visits(kind, group, OF_EACH)
            say(f"{kind.name}, {group_name(group)} mm: {OF_EACH} cars")
    return found


def keep(found: Found) -> None:
    """Write what was found, one car a row."""
    with KEPT.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["kind", "group", *(field.name for field in fields(Visit))])
        for (kind, group), cars in found.items():
            for car in cars:
                figures = (f"{x:.{DECIMALS}f}" for x in asdict(car).values())
                writer.writerow([kind, group, *figures])


def kept() -> Found:
    """Read what was found."""
    found: Found = {}
    with KEPT.open(encoding="utf-8", newline="") as file:
        for kind, group, *figures in list(csv.reader(file))[1:]:
            found.setdefault((kind, group), []).append(Visit(*map(float, figures)))
    return found


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
    everyone = [car for cars in found.values() for car in cars]
    lines = [
        f"{len(everyone)} cars, {OF_EACH} of each kind and correction, seed {SEED}: within 0.03 / "
        "0.01 deg of the best, bound kept",
        "".join([" " * NAME, *(head.rjust(CELL) for head in HEADS)]),
    ]
    rows = {"all": everyone}
    most = _most_line(everyone)
    for place in (0, 1):
        for name in dict.fromkeys(key[place] for key in found):
            label = f"{name} mm" if place else name
            rows[label] = [x for key, cars in found.items() if key[place] == name for x in cars]
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
