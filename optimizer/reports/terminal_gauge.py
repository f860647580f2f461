"""The report of `gauge`."""

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.gauge import (
    GaugeResult,
    Measured,
    MovedCoordinate,
    NextSetting,
    SideDifference,
)
from optimizer.reports.numbers import Reader
from optimizer.reports.sketch import AFTER, BEFORE, sketch
from optimizer.reports.terminal import alignment_section, heading, indented, rendered
from optimizer.reports.words import over_everything

GUESS = (
    "Points and readings contradict each other: until one of them is put right, take what follows "
    "for a guess."
)
NOTHING_FITS = (
    "Nothing that can be built keeps every limit. What stops the settings, `suggest` says of the "
    "corrected case (--write FILE)."
)
MOST_SHOWN = 41  # heights; a logger writes thousands
NUMBER_DECIMALS = {"mm": 2, "in": 3, "deg": 3, "min": 1}


def gauge_report(result: GaugeResult, paths: list[str]) -> str:
    """Render what readings say, and what to fit next."""
    reader = Reader(result.subject)
    parts: list[RenderableType] = [
        heading(result.subject.name),
        Text(", ".join(paths), style="dim"),
        *alignment_section(result.alignment, reader),
        heading("What the gauge says"),
        indented(_figures(result, reader)),
        *(indented(text) for text in result.diagnosis),
        *_drawing(result, reader),
    ]
    if result.sides is not None:
        parts += _sides(result.sides, reader)
    if result.questions:
        parts.append(heading("Questions about the readings"))
        parts += [indented(f"- {text}") for text in result.questions]
    if result.fitted_points:
        parts += _corrected(result, reader)
    return rendered(parts)


def _figures(result: GaugeResult, reader: Reader) -> str:
    measured = result.measured
    where = "the used travel" if measured.all_used_travel_swept else "the part that was swept"
    return (
        f"Slope {reader.slope(measured.toe_slope_deg_per_10mm)} {reader.short_toe_unit} per "
        f"{reader.per} ({reader.signed(measured.toe_slope_in_per_in, 4)} in per in at "
        f"{reader.length_with_unit(result.subject.toe_diameter_mm)} diameter), curvature "
        f"{reader.toe_with_unit(measured.toe_curvature_deg, signed=True)}, peak "
        f"{reader.toe_with_unit(measured.peak_toe_change_deg)} over {where}; the rows "
        f"scatter by {reader.toe_with_unit(measured.scatter_deg)}."
    )


def some_heights(heights: list[float]) -> list[float]:
    """At most `MOST_SHOWN` heights of many, the lowest first: both ends, ride height and others."""
    if len(heights) <= MOST_SHOWN:
        return heights
    step = (heights[-1] - heights[0]) / (MOST_SHOWN - 2)
    wanted = [0.0, *(heights[0] + k * step for k in range(MOST_SHOWN - 1))]
    return sorted({min(heights, key=lambda height: abs(height - near)) for near in wanted})


def _rows_kept(measured: Measured) -> dict[float, float]:
    """Toe at each height, the lowest first: the first row there that doesn't stand apart."""
    found: dict[float, float] = {}
    rows = zip(measured.travel_mm, measured.toe_deg, strict=True)
    for number, (travel, toe) in enumerate(rows, start=1):
        if number not in measured.rows_left_out:
            found.setdefault(travel, toe)
    return dict(sorted(found.items()))


def _drawing(result: GaugeResult, reader: Reader) -> list[RenderableType]:
    """Draw what was read, and beside it what to expect where a next stack is known."""
    rows = _rows_kept(result.measured)
    home = rows[min(rows, key=abs)]
    read = {travel: rows[travel] - home for travel in some_heights(list(rows))}
    coming = {row.travel_mm: row.toe_change_deg for row in result.expected}
    after = [coming[round(travel, 6)] for travel in read if round(travel, 6) in coming]
    key, pairs = f"{BEFORE} read", None
    if result.next is not None and len(after) == len(read):
        key, pairs = f"{BEFORE} read, {AFTER} expected next", after
    lines = sketch(
        [reader.length(travel, signed=True) for travel in read], list(read.values()), pairs
    )
    widest = max(abs(x) for x in [*read.values(), *(pairs or [])])
    text = (
        f"{key}; toe-out to the left, toe-in to the right, full width "
        f"±{reader.toe_with_unit(widest)}; travel in {result.subject.units}"
    )
    return [indented(text), *(indented(line) for line in lines)]


def _sides(sides: SideDifference, reader: Reader) -> list[RenderableType]:
    table = _table()
    table.add_column(f"travel\n{reader.subject.units}", justify="right")
    table.add_column(f"mean of both\n{reader.short_toe_unit}", justify="right")
    table.add_column(f"half difference\n{reader.short_toe_unit}", justify="right")
    columns = (sides.travel_mm, sides.mean_toe_change_deg, sides.half_difference_deg)
    for travel, mean, half in reversed(list(zip(*columns, strict=True))):
        table.add_row(reader.length(travel, signed=True), reader.toe(mean), reader.toe(half))
    return [
        heading(f"This wheel and the {sides.other} one"),
        Padding(table, (0, 0, 0, 2)),
    ]


def _corrected(result: GaugeResult, reader: Reader) -> list[RenderableType]:
    parts: list[RenderableType] = [heading("What to fit next")]
    parts += [indented(text) for text in _moves(result.moved, reader)]
    if result.contradictory:
        parts.append(indented(GUESS))
    if result.next is None:
        return [*parts, indented(NOTHING_FITS)]
    parts += [indented(text) for text in _promise(result.next, reader)]
    shows = result.gauge_shows
    table = _table()
    table.add_column(f"travel\n{result.subject.units}", justify="right")
    table.add_column(f"toe change\n{reader.short_toe_unit}", justify="right")
    table.add_column(f"{shows.name}, zero at ride height\n{shows.unit}", justify="right")
    shown = some_heights([row.travel_mm for row in result.expected])
    for row in reversed([row for row in result.expected if row.travel_mm in shown]):
        table.add_row(
            reader.length(row.travel_mm, signed=True),
            reader.toe(row.toe_change_deg),
            reader.signed(row.gauge, NUMBER_DECIMALS[shows.unit]),
        )
    return [
        *parts,
        indented("The gauge should then show:"),
        Padding(table, (0, 0, 0, 2)),
        heading("Before it goes on the road"),
        *(indented(f"- {text}") for text in result.cautions),
    ]


def _moves(moved: list[MovedCoordinate], reader: Reader) -> list[str]:
    """Say which points the readings moved, and which of them to measure again."""
    if not moved:
        return ["The readings leave every point nearly where it was measured."]
    listed = ", ".join(
        f"{place.point} {place.axis} {reader.length(place.by_mm, signed=True)}" for place in moved
    )
    return [
        f"The readings move the points most at: {listed} {reader.subject.units}.",
        *(
            f"Re-measure {place.point} {place.axis}: that is {place.sigmas:.1f} standard "
            "deviations of its tape."
            for place in moved
            if place.remeasure
        ),
    ]


def _table() -> Table:
    return Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")


def _promise(setting: NextSetting, reader: Reader) -> list[str]:
    pieces = f" ({reader.pieces(setting.stack_mm)})" if len(setting.stack_mm) > 1 else ""
    now = setting.fitted_now_peak_deg
    what = (
        f"outer {_moved(-setting.outer_drop_mm, reader, still='drop')}{pieces}, "
        f"{reader.words.inner} {_moved(setting.rack_raise_mm, reader)}"
        f"{_linkage(setting, reader)}, counted from the standard seat"
    )
    best = reader.toe_with_unit(setting.best_of_hardware_deg)
    peak, peak_95 = (
        reader.toe_with_unit(angle)
        for angle in (setting.peak_toe_change_deg, setting.peak_toe_change_95_deg)
    )
    expect = f"Expected peak {peak}, below {peak_95} with 95 % probability"
    if setting.stop:
        lines = [
            f"Stop here and keep {what}: that is within 0.01 deg of the best that this hardware "
            f"can do ({best}). {expect}."
        ]
    else:
        over = "" if now is None else f"; what is fitted now peaks at {reader.toe_with_unit(now)}"
        lines = [
            f"Fit {what}. {expect}; the best of this hardware is {best}{over}.",
            "Stop when the readings stay within 0.01 deg of that best.",
        ]
    if setting.within_band is not None:
        keeps = "stay inside" if setting.within_band else "leave"
        lines.append(f"The expected readings {keeps} the wanted band.")
    tight = [one.sentence for one in (setting.tightest_joint, setting.tightest_gap) if one]
    if tight:
        lines.append(
            f"Tightest{over_everything(reader)}: {'; '.join(tight)}. No reading of toe tells tilt "
            "or gaps: these are only as sure as the tape, so sweep the wheel by hand"
            f"{reader.words.at_locks} and look."
        )
    return lines


def _linkage(setting: NextSetting, reader: Reader) -> str:
    """Name what is to be fitted to the linkage itself, a 0 too where something else is fitted."""
    if reader.subject.layout == "beam-axle":
        heights = {
            "lateral link's frame bracket": (setting.frame_bracket_raise_mm, "raise"),
            "lateral link's axle bracket": (setting.axle_bracket_raise_mm, "raise"),
        }
    else:
        heights = {"lower ball joint": (-setting.ball_joint_drop_mm, "drop")}
    return "".join(
        f", {name} {_moved(height, reader, still)}"
        for name, (height, still) in heights.items()
        if height or setting.linkage_changes
    )


def _moved(up_mm: float, reader: Reader, still: str = "raise") -> str:
    """Say how far a part goes and which way; of one that stays, 0 of the usual way."""
    way = {True: "raise", False: "drop"}[up_mm > 0.0] if up_mm else still
    return f"{way} {reader.fitted(abs(up_mm))}"
