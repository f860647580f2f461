"""What a gauge has shown and should show, as rows and columns."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from optimizer.models.gauge import ConvertedRow, GaugeResult, Measured, SweptWith, WheelGauge
from optimizer.reports.tables import Column
from optimizer.wording.reader import Reader

MOST_SHOWN = 41  # heights; a logger writes thousands
NUMBER_DECIMALS = {"mm": 2, "in": 3, "deg": 3, "min": 1}


def some_heights(heights: list[float], most: int = MOST_SHOWN) -> list[float]:
    """At most so many heights of many, the lowest first: both ends, ride height and others."""
    if len(heights) <= most:
        return heights
    step = (heights[-1] - heights[0]) / (most - 2)
    wanted = [0.0, *(heights[0] + k * step for k in range(most - 1))]
    return sorted({min(heights, key=lambda height: abs(height - near)) for near in wanted})


def rows_kept(measured: Measured) -> dict[float, float]:
    """Toe at each height, the lowest first: the first row there that doesn't stand apart."""
    found: dict[float, float] = {}
    rows = zip(measured.travel_mm, measured.toe_deg, strict=True)
    for number, (travel, toe) in enumerate(rows, start=1):
        if number not in measured.rows_left_out:
            found.setdefault(travel, toe)
    return dict(sorted(found.items()))


def expected_columns(wheel: WheelGauge, reader: Reader) -> list[Column]:
    """Readings to expect with the next stack fitted, bump first."""
    shows = wheel.gauge_shows
    shown = some_heights([row.travel_mm for row in wheel.expected])
    rows = [row for row in wheel.expected if row.travel_mm in shown]
    decimals = NUMBER_DECIMALS[shows.unit]
    columns = {
        f"travel\n{reader.subject.units}": [reader.length(x.travel_mm, signed=True) for x in rows],
        f"toe change\n{reader.short_toe_unit}": [reader.toe(x.toe_change_deg) for x in rows],
        f"{shows.name}, zero at ride height\n{shows.unit}": [
            reader.signed(x.gauge, decimals) for x in rows
        ],
    }
    return [Column(title, cells[::-1]) for title, cells in columns.items()]


def converted_sweeps(
    result: GaugeResult, wheel: WheelGauge
) -> Iterator[tuple[SweptWith, list[ConvertedRow]]]:
    """Each sweep that is told of a wheel, with its rows."""
    for place, rows in groupby(wheel.converted, key=lambda row: row.sweep):
        yield result.swept[place - 1], list(rows)


def converted_columns(
    sweep: SweptWith, read: Sequence[ConvertedRow], reader: Reader
) -> list[Column]:
    """Tabulate rows of a sweep as read and as toe; of very many, as many as are drawn."""
    shows, step = sweep.gauge_shows, -(-len(read) // MOST_SHOWN)
    rows = read[::step]
    marks = ["*" if row.left_out else "" for row in rows]
    decimals = NUMBER_DECIMALS[shows.unit]
    columns = {
        f"travel\n{reader.subject.units}": [reader.length(x.travel_mm, signed=True) for x in rows],
        f"{shows.name}\n{shows.unit}": [reader.signed(x.gauge, decimals) for x in rows],
        f"toe change\n{reader.toe_unit}": [reader.toe(x.toe_change_deg) for x in rows],
    }
    marked = {**columns, "\n": marks} if any(marks) else columns
    return [Column(title, cells) for title, cells in marked.items()]
