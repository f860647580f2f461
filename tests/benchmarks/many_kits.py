"""Invented kits in numbers: ranges x rod ends."""

from itertools import product
from pathlib import Path
from typing import Any

from optimizer.models.kits import Kit

RANGES = [
    (0.0, 10.0, 1.0),
    (0.0, 16.0, 1.0),
    (0.0, 20.0, 2.0),
    (0.0, 25.0, 1.0),
    (5.0, 30.0, 1.0),
    (10.0, 35.0, 1.0),
    (0.0, 30.0, 0.5),
    (0.0, 40.0, 2.0),
]
ROD_ENDS = [(15.0, 34.0), (18.0, 34.0), (20.0, 38.0), (22.0, 32.0), (25.0, 40.0)]


def many_kits(count: int) -> list[Kit]:
    """So many kits, each unlike the others: 40 of the ranges above, then shifted ones."""
    return [Kit.model_validate(table) for table in _tables(count)]


def kits_file(folder: Path, count: int) -> Path:
    """The same as a kits file."""
    rows = ['format = 1\nunits = "mm"\n']
    for table in _tables(count):
        stack = ", ".join(f"{key} = {value}" for key, value in table["stack"].items())
        end = ", ".join(f"{key} = {value}" for key, value in table["rod_end"].items())
        rows.append(
            f'[[kits]]\nname = "{table["name"]}"\nseat = "tapered"\n'
            f"stack = {{ {stack} }}\nrod_end = {{ {end} }}\n"
        )
    path = folder / "kits.toml"
    path.write_text("\n".join(rows), encoding="utf-8")
    return path


def _tables(count: int) -> list[dict[str, Any]]:
    every = list(product(RANGES, ROD_ENDS))
    found = []
    for number in range(count):
        again, place = divmod(number, len(every))
        (low, high, step), (tilt, diameter) = every[place]
        shift = round(0.1 * again, 1)
        found.append(
            {
                "name": f"{low + shift:g} to {high + shift:g} by {step:g}, {tilt:g} deg",
                "seat": "tapered",
                "stack": {"min": low + shift, "max": high + shift, "step": step},
                "rod_end": {
                    "tilt_limit_deg": tilt,
                    "housing_diameter": diameter,
                    "housing_height": 20.0,
                },
            }
        )
    return found
