"""Values from tests/published, read together with the digits they were printed with."""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

PUBLISHED = Path(__file__).parent.parent / "published"


def published(name: str) -> dict[str, Any]:
    """One file of tests/published; decimal numbers stay `Decimal`, so "0.10" is not "0.1"."""
    with (PUBLISHED / f"{name}.toml").open("rb") as file:
        return tomllib.load(file, parse_float=Decimal)


def numbers(printed: Any) -> Array:
    """Printed numbers as floats, nested lists as an array."""
    return np.array(printed, dtype=float)


def half_last_digit(printed: Any) -> Array:
    """Half a unit of the last printed digit of each number; 0 for a whole number."""

    def half(number: Any) -> float:
        if not isinstance(number, Decimal):
            return 0.0
        return 0.5 * 10.0 ** int(number.as_tuple().exponent)

    halves: Array = np.vectorize(half, otypes=[float])(np.array(printed, dtype=object))
    return halves
