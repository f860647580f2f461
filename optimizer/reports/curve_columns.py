"""Curves as columns: travel, then toe and its companions of each wheel."""

from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct

from optimizer.models.curve import CurveResult, CurvesTogether, WheelCurve
from optimizer.reports.tables import Column
from optimizer.units import Side
from optimizer.wording.curves import AS_ASKED
from optimizer.wording.reader import Reader


class _Figure(Struct, frozen=True):
    """What a column shows of a wheel; `short` names it beside the other wheel's, if at all."""

    key: str
    name: str
    short: str | None
    unit: str
    text: Callable[[float], str]


def curve_columns(result: CurveResult, reader: Reader) -> list[Column]:
    """Columns of the curves, bump of the first wheel first."""
    return [Column(title, cells[::-1]) for title, cells in _columns(result, reader)]


def by_name(result: CurveResult) -> dict[str, CurveResult]:
    """The curve that was asked for, and those laid over it."""
    return {AS_ASKED: result} | {other.name: other.curve for other in result.others}


def wheel_of(result: CurveResult, side: Side) -> list[WheelCurve]:
    """The wheel of a side in a car of two, or the one that was measured."""
    return [one for one in result.wheels if one.side == side or len(result.wheels) == 1]


def change_from_ride_height(wheel: WheelCurve) -> list[float | None]:
    """Toe change from ride height; None out of reach. [deg]."""
    home = wheel.toe_deg[wheel.travel_mm.index(0.0)]
    return [None if x is None or home is None else x - home for x in wheel.toe_deg]


def laid_over_columns(result: CurveResult, side: Side, reader: Reader) -> list[Column]:
    """Toe change of one wheel and of what is laid over it, bump first, its peak last."""
    found = {
        name: dict(zip(one.travel_mm, change_from_ride_height(one), strict=True))
        for name, other in by_name(result).items()
        for one in wheel_of(other, side)
    }
    heights = sorted({x for one in found.values() for x in one}, reverse=True)
    columns = [Column(f"travel\n{reader.subject.units}", [*_travel(heights, reader), "peak"])]
    for name, change in found.items():
        told = [change.get(height) for height in heights]
        peak = max((abs(x) for x in told if x is not None), default=None)
        last = "-" if peak is None else reader.toe(peak, signed=False)
        columns.append(Column(f"{name}\n{reader.short_toe_unit}", [*cells(told, reader.toe), last]))
    return columns


def _columns(result: CurveResult, reader: Reader) -> Iterator[tuple[str, list[str]]]:
    first, *others = result.wheels
    lines = "\n" if others else ""
    yield f"{lines}travel\n{reader.subject.units}", _travel(first.travel_mm, reader)
    together = result.together
    rolled = together is not None and together.right_travel_mm != first.travel_mm
    if together is not None and rolled:
        title = f"right\ntravel\n{reader.subject.units}"
        yield title, _travel(together.right_travel_mm, reader)
    for figure in _figures(reader):
        if others:
            yield from _side_by_side(figure, result.wheels, rolled=rolled)
        elif (values := getattr(first, figure.key)) is not None:
            yield f"{figure.name}\n{figure.unit}", cells(values, figure.text)
        if together is not None and figure.key == "toe_deg":
            yield from _together(together, reader)


def _travel(lengths_mm: list[float], reader: Reader) -> list[str]:
    return [reader.length(x, signed=True) for x in lengths_mm]


def _figures(reader: Reader) -> list[_Figure]:
    units, toe, degrees = reader.subject.units, reader.short_toe_unit, _degrees
    of_the_axis = [
        _Figure("caster_deg", "caster", None, "deg", degrees),
        _Figure("kingpin_inclination_deg", "kingpin", None, "deg", degrees),
    ]
    return [
        _Figure("toe_deg", "toe", "toe", toe, reader.toe),
        _Figure("other_wheel_toe_deg", "other wheel", None, toe, reader.toe),
        _Figure("camber_deg", "camber", "camber", "deg", degrees),
        *(of_the_axis if reader.words.steers else []),
        _Figure("half_track_change_mm", "half track", "track", units, reader.length),
        _Figure("outer_tilt_deg", "outer tilt", "tilt", "deg", degrees),
        _Figure("inner_tilt_deg", "inner tilt", None, "deg", degrees),
    ]


def _side_by_side(
    figure: _Figure, wheels: list[WheelCurve], *, rolled: bool
) -> Iterator[tuple[str, list[str]]]:
    """A column a wheel, the second one's at the first one's heights."""
    if figure.short is None:
        return
    for k, wheel in enumerate(wheels):
        order = -1 if rolled and k > 0 else 1
        values = getattr(wheel, figure.key)[::order]
        yield f"{figure.short}\n{wheel.side}\n{figure.unit}", cells(values, figure.text)


def _together(together: CurvesTogether, reader: Reader) -> Iterator[tuple[str, list[str]]]:
    unit = reader.short_toe_unit
    yield f"toe\ntotal\n{unit}", cells(together.total_toe_deg, reader.toe)
    yield f"left -\nright\n{unit}", cells(together.toe_difference_deg, reader.toe)


def _degrees(angle: float) -> str:
    return f"{angle:.2f}"


def cells(values: Sequence[float | None], text: Callable[[float], str]) -> list[str]:
    """Write the cells of a column, a dash for what isn't there."""
    return ["-" if value is None else text(value) for value in values]
