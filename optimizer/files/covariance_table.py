"""How errors of points hang together, as it is written into the accuracy table of a case."""

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit

from optimizer.units import MM_PER, Units

Rows = tuple[tuple[float, ...], ...]


def put_covariance(
    own: MutableMapping[str, Any],
    root: Mapping[str, Rows],
    units: Units,
    *,
    decimals: int,
    note: str,
) -> None:
    """Let an accuracy state a covariance in the place of the points' own deviations.

    `own` is the document, or the table of a wheel; `root` a row for each of x, y and z, by point,
    in mm, which the file states in its `units` to so many decimals.
    """
    accuracy = own.setdefault("accuracy", tomlkit.table())
    for key in ("points", "x", "covariance_root", "contradicted"):
        accuracy.pop(key, None)
    table = tomlkit.table()
    table.comment(note)
    for name, rows in root.items():
        table[name] = [_row(row, units, decimals) for row in rows]
    accuracy["covariance_root"] = table


def _row(row: tuple[float, ...], units: Units, decimals: int) -> list[float]:
    """A row in the file's unit; what a coordinate errs by on its own stays above 0."""
    rounded = [round(x / MM_PER[units], decimals) + 0.0 for x in row]
    return [*rounded[:-1], max(rounded[-1], 10.0**-decimals)]
