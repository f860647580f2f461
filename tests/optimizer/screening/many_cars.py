"""Invented cars in numbers, and what was kept of a screening."""

import json
import random
from collections import Counter
from pathlib import Path

import tomlkit

from tests.conftest import DEMO_CARS
from tests.optimizer.command_line import CASES

KITS = CASES / "kits.toml"
ON_ARMS = ("track-wishbone", "lowered-strut")
DEMO_KINDS = tuple(path.stem for path in DEMO_CARS)


def write_cars(
    folder: Path, count: int, *, like: tuple[str, ...] = ON_ARMS, seed: int = 15
) -> None:
    """Write so many cars, each like a demo car with every coordinate off by about 3 mm."""
    folder.mkdir()
    off = random.Random(seed)
    for number in range(count):
        text = (CASES / f"{like[number % len(like)]}.toml").read_text(encoding="utf-8")
        car = tomlkit.parse(text)
        scale = 25.4 if car["units"] == "in" else 1.0
        for name, point in car["points"].items():
            car["points"][name] = [round(float(x) + off.gauss(0.0, 3.0) / scale, 3) for x in point]
        car["name"] = f"Invented car {number + 1}"
        (folder / f"car-{number + 1:03}.toml").write_text(tomlkit.dumps(car), encoding="utf-8")


def kept(folder: Path) -> list[dict[str, object]]:
    """Rows of a screening as its record holds them."""
    return [json.loads(line) for line in (folder / "rows.jsonl").read_text("utf-8").splitlines()]


def times_kept(folder: Path) -> Counter[tuple[object, ...]]:
    """How often each car, kit and height is there."""
    return Counter((row["case"], row["kit"], row["lowered_by_mm"]) for row in kept(folder))
