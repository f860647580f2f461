"""Margins put into sentences: what stops a setting, where, and by how much."""

from math import isfinite

from optimizer.limits.margins import Margin
from optimizer.models.case import Case
from optimizer.models.setting import Tightest
from optimizer.units import short_length


def violations(margins: list[Margin], row: int, case: Case) -> list[str]:
    """Say which limits a row breaks; empty where it fits."""
    return [_sentence(margin, row, case) for margin in margins if margin.margin[row] < 0.0]


def smallest(margins: list[Margin], kind: str, row: int) -> float | None:
    """Smallest tilt margin [deg] or smallest gap [mm] of a row; None where none is limited."""
    found = _tightest(margins, kind, row)
    if found is None:
        return None
    return float((found.value if kind == "gap" else found.margin)[row])


def tightest(margins: list[Margin], kind: str, row: int, case: Case) -> Tightest | None:
    """Name what comes nearest to its tilt limit ("tilt") or to touching ("gap"), and where."""
    found = _tightest(margins, kind, row)
    if found is None:
        return None
    travel, rack_travel = float(found.travel[row]), float(found.rack_travel[row])
    where, value = _place(travel, rack_travel, case), float(found.value[row])
    if kind == "tilt":
        does = f"tilts {value:.1f} of {found.limit:.1f} deg"
    else:
        verb = "leaves" if value >= 0.0 else "overlaps by"
        does = f"{verb} {short_length(abs(value), case.units)}"
    return Tightest(
        name=found.name,
        travel_mm=travel,
        rack_travel_mm=rack_travel,
        sentence=f"{found.name} {does} at {where}",
    )


def _tightest(margins: list[Margin], kind: str, row: int) -> Margin | None:
    """Margin of a kind that is least; gaps by themselves, whatever gap is wanted."""
    found = [m for m in margins if m.kind == kind and isfinite(m.margin[row])]
    if kind == "gap":
        return min(found, key=lambda m: float(m.value[row]), default=None)
    return min(found, key=lambda m: float(m.margin[row]), default=None)


def _sentence(margin: Margin, row: int, case: Case) -> str:
    units = case.units
    where = _place(float(margin.travel[row]), float(margin.rack_travel[row]), case)
    value, short = float(margin.value[row]), -float(margin.margin[row])
    if margin.kind == "reach":
        return f"the {margin.name} can't reach {where}"
    if margin.kind == "tilt":
        return (
            f"{margin.name} binds by {short:.1f} deg at {where} "
            f"(tilts {value:.1f}, limit {margin.limit:.1f} deg)"
        )
    if margin.kind == "stud":
        force = f"the stated {case.words.short_rod} force"
        return f"stud reaches its {margin.name} at {value:.2f} x {force}"
    if margin.kind == "thread":
        kept, least = (short_length(x, units) for x in (max(0.0, value), margin.limit))
        return (
            f"{margin.name} keeps {kept} engaged after the toe reset, "
            f"{short_length(short, units)} less than the least of {least}"
        )
    if value < 0.0:
        return f"{margin.name} touches by {short_length(-value, units)} at {where}"
    return (
        f"{margin.name} leaves {short_length(value, units)} at {where}, "
        f"{short_length(short, units)} less than wanted"
    )


def _place(travel: float, rack_travel: float, case: Case) -> str:
    words, units = case.words, case.units
    if travel == 0.0:
        height = "ride height"
    else:
        height = f"{short_length(abs(travel), units)} {'bump' if travel > 0.0 else 'droop'}"
    if rack_travel == 0.0:
        return f"{height}{words.straight}"
    side = "left" if rack_travel > 0.0 else "right"
    return f"{height}, {words.inner} {short_length(abs(rack_travel), units)} to the {side}"
