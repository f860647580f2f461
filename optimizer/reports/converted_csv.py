"""Converted readings as CSV: every row as read and as toe."""

import csv
from io import StringIO

from optimizer.models.gauge import GaugeResult
from optimizer.units import MM_PER, toe_in_unit

HEADINGS = ("side", "row", "travel", "reading", "toe_change_deg", "toe_change", "left_out")


def converted_csv(result: GaugeResult) -> str:
    """Write the last sweep of each wheel, one line a row; units stand in the second line."""
    subject, out = result.subject, StringIO()
    unit, diameter = subject.toe_unit, subject.toe_diameter_mm
    lines = csv.writer(out, lineterminator="\n")
    lines.writerow(HEADINGS)
    of_toe = unit if unit in ("deg", "min") else f"{unit} at {diameter / MM_PER[subject.units]:.6g}"
    for wheel in result.wheels[:1]:
        lines.writerow(["", "", subject.units, wheel.gauge_shows.unit, "deg", of_toe, ""])
    for wheel in result.wheels:
        for row in wheel.converted:
            toe = toe_in_unit(row.toe_change_deg, unit, diameter)
            travel = row.travel_mm / MM_PER[subject.units]
            figures = (travel, row.gauge, row.toe_change_deg, toe)
            left = "yes" if row.left_out else ""
            lines.writerow([wheel.side, row.row, *(f"{x:.6g}" for x in figures), left])
    return out.getvalue()
