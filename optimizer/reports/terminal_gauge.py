"""The report of `gauge`."""

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.gauge import GaugeResult, NextSetting
from optimizer.reports.numbers import Reader
from optimizer.reports.sketch import BEFORE, sketch
from optimizer.reports.terminal import heading, indented, rendered


def gauge_report(result: GaugeResult, paths: list[str]) -> str:
    """Render what readings say, and what to fit next."""
    reader = Reader(result.subject)
    measured = result.measured
    parts: list[RenderableType] = [
        heading(result.subject.name),
        Text(", ".join(paths), style="dim"),
        heading("What the gauge says"),
        indented(
            f"Slope {reader.slope(measured.toe_slope_deg_per_10mm)} {reader.short_toe_unit} per "
            f"{reader.per} ({measured.toe_slope_in_per_in:+.4f} in per in at "
            f"{reader.length_with_unit(result.subject.toe_diameter_mm)} diameter), curvature "
            f"{reader.toe_with_unit(measured.toe_curvature_deg, signed=True)}, peak "
            f"{reader.toe_with_unit(measured.peak_toe_change_deg)} over the used travel; the rows "
            f"scatter by {reader.toe_with_unit(measured.scatter_deg)}."
        ),
        *(indented(text) for text in result.diagnosis),
        *_drawing(result, reader),
    ]
    if result.questions:
        parts.append(heading("Questions about the readings"))
        parts += [indented(f"- {text}") for text in result.questions]
    if result.fitted_points:
        parts += _corrected(result, reader)
    return rendered(parts)


def _drawing(result: GaugeResult, reader: Reader) -> list[RenderableType]:
    measured = result.measured
    rows = sorted(zip(measured.travel_mm, measured.toe_deg, strict=True))
    home = min(rows, key=lambda row: abs(row[0]))[1]
    change = [toe - home for _, toe in rows]
    lines = sketch([reader.length(travel, signed=True) for travel, _ in rows], change, None)
    widest = reader.toe_with_unit(max(abs(x) for x in change))
    text = f"{BEFORE} read; toe-out to the left, toe-in to the right, full width ±{widest}"
    return [indented(text), *(indented(line) for line in lines)]


def _corrected(result: GaugeResult, reader: Reader) -> list[RenderableType]:
    parts: list[RenderableType] = [heading("What to fit next")]
    if result.next is None:
        return [*parts, indented("Nothing that can be built keeps every limit.")]
    parts += [indented(text) for text in _promise(result.next, reader)]
    for moved in result.moved:
        parts.append(
            indented(
                f"Re-measure {moved.point} {moved.axis}: the readings put it "
                f"{reader.length(moved.by_mm, signed=True)} {result.subject.units} away "
                f"({moved.sigmas:.1f} standard deviations)."
            )
        )
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    table.add_column(f"travel\n{result.subject.units}", justify="right")
    table.add_column(f"toe change\n{reader.short_toe_unit}", justify="right")
    table.add_column("gauge should show\n(zero at ride height)", justify="right")
    for row in reversed(result.expected):
        table.add_row(
            reader.length(row.travel_mm, signed=True),
            reader.toe(row.toe_change_deg),
            f"{row.gauge:+.3f}",
        )
    return [*parts, Padding(table, (1, 0, 0, 2))]


def _promise(setting: NextSetting, reader: Reader) -> list[str]:
    pieces = f" ({reader.pieces(setting.stack_mm)})" if len(setting.stack_mm) > 1 else ""
    lines = [
        f"Outer drop {reader.length_with_unit(setting.outer_drop_mm)}{pieces}, rack raise "
        f"{reader.length_with_unit(setting.rack_raise_mm)}, both from the standard seat. Expected "
        f"peak {reader.toe_with_unit(setting.peak_toe_change_deg)}, below "
        f"{reader.toe_with_unit(setting.peak_toe_change_95_deg)} with 95 % probability; the best "
        f"of this hardware is {reader.toe_with_unit(setting.best_of_hardware_deg)}.",
    ]
    if setting.stop:
        lines.append(
            "Stop here: what is fitted now is within 0.01 deg of the best of this hardware."
        )
    return lines
