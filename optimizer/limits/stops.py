"""Margins as facts: what stops a setting, and what comes nearest to stopping it."""

from math import isfinite
from typing import Any

from optimizer.limits.margins import Margin
from optimizer.models.stops import Stop, Tightest
from optimizer.units import Side


def stops(margins: list[Margin], row: int, side: Side) -> list[Stop]:
    """Limits that a row breaks; empty where it fits."""
    return [
        Stop(**_at_limit(margin, row, side), short=-float(margin.margin[row]))
        for margin in margins
        if margin.margin[row] < 0.0
    ]


def smallest(margins: list[Margin], kind: str, row: int) -> float | None:
    """Smallest tilt margin [deg] or smallest gap [mm] of a row; None where none is limited."""
    found = _tightest(margins, kind, row)
    if found is None:
        return None
    return float((found.value if kind == "gap" else found.margin)[row])


def tightest(margins: list[Margin], kind: str, row: int, side: Side) -> Tightest | None:
    """What comes nearest to its tilt limit ("tilt") or to touching ("gap"), and where."""
    found = _tightest(margins, kind, row)
    return None if found is None else Tightest(**_at_limit(found, row, side))


def _tightest(margins: list[Margin], kind: str, row: int) -> Margin | None:
    """Margin of a kind that is least; gaps by themselves, whatever gap is wanted."""
    found = [m for m in margins if m.kind == kind and isfinite(m.margin[row])]
    if kind == "gap":
        return min(found, key=lambda m: float(m.value[row]), default=None)
    return min(found, key=lambda m: float(m.margin[row]), default=None)


def _at_limit(margin: Margin, row: int, side: Side) -> dict[str, Any]:
    return {
        "kind": margin.kind,
        "side": side,
        "name": margin.name,
        "value": float(margin.value[row]),
        "limit": margin.limit,
        "travel_mm": float(margin.travel[row]),
        "rack_travel_mm": float(margin.rack_travel[row]),
    }
