"""Margins put into sentences: what stops a setting, where, and by how much."""

from optimizer.limits import Margin
from optimizer.units import MM_PER, Units


def violations(margins: list[Margin], row: int, units: Units) -> list[str]:
    """Say which limits a row breaks; empty where it fits."""
    return [_sentence(margin, row, units) for margin in margins if margin.margin[row] < 0.0]


def smallest(margins: list[Margin], kind: str, row: int) -> float | None:
    """Smallest tilt margin [deg] or smallest gap [mm] of a row; None where none is limited."""
    if kind == "gap":
        return min((float(m.value[row]) for m in margins if m.kind == "gap"), default=None)
    return min((float(m.margin[row]) for m in margins if m.kind == kind), default=None)


def _sentence(margin: Margin, row: int, units: Units) -> str:
    where = _place(float(margin.travel[row]), float(margin.rack_travel[row]), units)
    value, short = float(margin.value[row]), -float(margin.margin[row])
    if margin.kind == "reach":
        return f"the linkage can't reach {where}"
    if margin.kind == "tilt":
        return (
            f"{margin.name} binds by {short:.1f} deg at {where} "
            f"(tilts {value:.1f}, limit {margin.limit:.1f} deg)"
        )
    if value < 0.0:
        return f"{margin.name} touches by {_length(-value, units)} at {where}"
    return (
        f"{margin.name} leaves {_length(value, units)} at {where}, "
        f"{_length(short, units)} less than wanted"
    )


def _place(travel: float, rack_travel: float, units: Units) -> str:
    if travel == 0.0:
        height = "ride height"
    else:
        height = f"{_length(abs(travel), units)} {'bump' if travel > 0.0 else 'droop'}"
    if rack_travel == 0.0:
        return f"{height}, steering straight"
    side = "left" if rack_travel > 0.0 else "right"
    return f"{height}, rack {_length(abs(rack_travel), units)} to the {side}"


def _length(length_mm: float, units: Units) -> str:
    decimals = 1 if units == "mm" else 2
    return f"{length_mm / MM_PER[units]:.{decimals}f} {units}"
