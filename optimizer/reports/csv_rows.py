"""Answers as CSV: a line a row, most under the keys of the JSON; millimeters and degrees."""

import csv
from collections.abc import Iterable, Iterator
from io import StringIO

from optimizer.models.answer import Answer
from optimizer.models.curve import CurveResult, WheelCurve
from optimizer.models.gauge import GaugeResult
from optimizer.models.reach import ReachResult, ReachRow, WheelReach
from optimizer.models.setting import Ranked, WheelSetting
from optimizer.models.suggest import SuggestResult
from optimizer.reports.curve_columns import by_name
from optimizer.reports.gauge_columns import converted_sweeps
from optimizer.units import MM_PER, toe_in_unit

Cell = str | int | float | bool | None


def curve_csv(result: CurveResult) -> str:
    """Write every curve, one line a height of a wheel; `curve` names what is laid over."""
    return _written(
        row
        for name, one in by_name(result).items()
        for wheel in one.wheels
        for row in _heights(name, wheel)
    )


def ranking_csv(result: SuggestResult) -> str:
    """Write the ranking, one line a wheel of an option."""
    return _written(_ranked(row, wheel) for row in result.ranked for wheel in row.wheels)


def reach_csv(result: ReachResult) -> str:
    """Write the map, one line a wheel of a kit at a ride height."""
    return _written(_reached(row, wheel) for row in result.heights for wheel in row.wheels)


def _heights(name: str, wheel: WheelCurve) -> Iterator[dict[str, Cell]]:
    found = {key: values for key, values in wheel if _by_height(values, len(wheel.travel_mm))}
    for row in zip(*found.values(), strict=True):
        cells: dict[str, Cell] = {"curve": name, "side": wheel.side}
        cells.update(zip(found, row, strict=True))
        yield cells


def _by_height(values: object, count: int) -> bool:
    """Whether these are numbers, one a height."""
    return (
        isinstance(values, list)
        and len(values) == count
        and all(one is None or isinstance(one, float) for one in values)
    )


def _ranked(row: Ranked, wheel: WheelSetting) -> dict[str, Cell]:
    return {
        "rank": row.rank,
        "kit": row.kit,
        "lowered_by_mm": row.lowered_by_mm,
        "car_peak_toe_change_deg": row.peak_toe_change_deg,
        "car_fits": row.fits,
        "car_meets_tolerance": row.meets_tolerance,
        "unbeaten": row.unbeaten,
        **_plain(wheel),
        "reasons": "+".join(dict.fromkeys(reason.kind for reason in wheel.reasons)),
    }


def _reached(row: ReachRow, wheel: WheelReach) -> dict[str, Cell]:
    return {
        "lowered_by_mm": row.lowered_by_mm,
        "kit": row.kit,
        "car_reachable": row.reachable,
        "car_peak_toe_change_deg": row.peak_toe_change_deg,
        "car_blocked_by": "+".join(row.blocked_by),
        "car_met_probability": None if row.chances is None else row.chances.met_probability,
        **_plain(wheel),
    }


def _plain(answer: Answer) -> dict[str, Cell]:
    """What of an answer goes into cells: numbers, words, and lists of these with + between."""
    told: dict[str, Cell] = {}
    for key, value in answer:
        if isinstance(value, list) and all(isinstance(one, str | float) for one in value):
            told[key] = "+".join(map(str, value))
        elif value is None or isinstance(value, str | int | float):
            told[key] = value
    return told


def _written(rows: Iterable[dict[str, Cell]]) -> str:
    out, found = StringIO(), list(rows)
    titles = dict.fromkeys(key for row in found for key in row)
    lines = csv.DictWriter(out, list(titles), lineterminator="\n")
    lines.writeheader()
    lines.writerows(found)
    return out.getvalue()


HEADINGS = (
    *("side", "row", "travel", "reading", "toe_change_deg", "toe_change", "left_out"),
    *("sweep", "name"),
)


def converted_csv(result: GaugeResult) -> str:
    """Write every sweep, one line a row; units stand in the line before the rows of each."""
    subject, out = result.subject, StringIO()
    unit, diameter = subject.toe_unit, subject.toe_diameter_mm
    lines = csv.writer(out, lineterminator="\n")
    lines.writerow(HEADINGS)
    of_toe = unit if unit in ("deg", "min") else f"{unit} at {diameter / MM_PER[subject.units]:.6g}"
    for wheel in result.wheels:
        for sweep, rows in converted_sweeps(result, wheel):
            shown = sweep.gauge_shows.unit
            lines.writerow(["", "", subject.units, shown, "deg", of_toe, "", "", ""])
            for row in rows:
                toe = toe_in_unit(row.toe_change_deg, unit, diameter)
                travel = row.travel_mm / MM_PER[subject.units]
                figures = (f"{x:.6g}" for x in (travel, row.gauge, row.toe_change_deg, toe))
                side, left = sweep.side or wheel.side, "yes" if row.left_out else ""
                lines.writerow([side, row.row, *figures, left, row.sweep, sweep.sweep])
    return out.getvalue()
