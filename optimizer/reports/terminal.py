"""Reports for a terminal, rendered to one string at any width."""

import os
from collections.abc import Callable
from io import StringIO

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.result import CheckResult, CurveResult, Ranked, Subject, SuggestResult
from optimizer.reports.alignment import alignment_in_words
from optimizer.reports.kits import kits_in_words, shim_in_words
from optimizer.reports.numbers import Reader
from optimizer.reports.sketch import AFTER, BEFORE, sketch
from optimizer.reports.stud import stud_and_thread
from optimizer.reports.terminal_custom import custom_pivot_section
from optimizer.reports.terminal_side_effects import side_effects_section
from optimizer.reports.words import (
    band_in_words,
    next_steps,
    proof_in_words,
    sureness_in_words,
    tightest_in_words,
    what_it_does,
    what_to_fit,
)

WIDTH = 100  # columns where the output is no terminal
UNBEATEN = "* no setting{} that fits beats it on peak, effort{} at once."


def rendered(parts: list[RenderableType], width: int | None = None) -> str:
    """Render parts one below another, colored only for a terminal."""
    color = Console().is_terminal and "NO_COLOR" not in os.environ
    out = StringIO()
    console = Console(
        file=out,
        width=width or (Console().width if color else WIDTH),
        force_terminal=color,
        no_color=not color,
        highlight=False,
        markup=False,  # a name may hold brackets
    )
    for part in parts:
        console.print(part)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def suggest_report(result: SuggestResult, case_path: str) -> str:
    """Render the ranked answer."""
    reader = Reader(result.subject)
    winner = result.ranked[0] if result.ranked[0].fits else None
    parts: list[RenderableType] = [
        heading(f"{result.subject.name}"),
        what_it_is(result.subject, case_path),
        *alignment_section(result.alignment, reader),
        heading("What the car does now"),
        *(indented(line) for line in what_it_does(result, reader)),
        heading("What to fit, best first"),
        _ranking(result, reader),
        *([_unbeaten(result)] if any(row.unbeaten for row in result.ranked) else []),
        indented(tightest_in_words(result.ranked[0], reader)),
        *(indented(line) for line in band_in_words(result.ranked[0])),
        *(indented(line) for line in kits_in_words(result.kits, result.currency)),
        indented(proof_in_words(result.certificate, reader)),
        indented(sureness_in_words(result.uncertainty, result, reader)),
        *(indented(line) for line in shim_in_words(result, reader)),
        heading("Toe change over the used travel"),
        *_drawing(result, reader),
    ]
    if changed := side_effects_section(result, reader):
        parts += [heading("What else it changes"), *changed]
    if result.custom is not None:
        parts += [heading("A pivot made to measure"), *custom_pivot_section(result, reader)]
    if winner is None:
        parts.append(indented("Nothing that can be built keeps every limit; see the reasons."))
    else:
        if lines := stud_and_thread(winner, result.stud, result.thread, reader):
            parts.append(heading("Stud and thread"))
            parts += [indented(line) for line in lines]
        parts.append(heading("Before it goes on the road"))
        parts += [indented(f"- {text}") for text in result.cautions]
        parts.append(heading("What to do next"))
        steps = next_steps(winner, result, reader)
        parts += [indented(f"{k}. {step}") for k, step in enumerate(steps, start=1)]
        parts.append(_readings(result, reader))
    return rendered(parts)


def alignment_section(answer: AlignmentAnswer | None, reader: Reader) -> list[RenderableType]:
    """Say what is moved for the wanted alignment; nothing where none is asked for."""
    if answer is None:
        return []
    lines = [*alignment_in_words(answer, reader), "All that follows is of the car so aligned."]
    return [heading("The wanted alignment"), *(indented(line) for line in lines)]


def heading(text: str) -> Text:
    """Set a heading apart."""
    return Text(f"\n{text}", style="bold")


def indented(text: str) -> Padding:
    """Set a paragraph in."""
    return Padding(Text(text), (0, 0, 0, 2))


def what_it_is(subject: Subject, case_path: str) -> Text:
    """Name the layout, the wheel and the file of an answer."""
    return Text(f"{subject.layout}, {subject.side} {subject.words.wheel}; {case_path}", style="dim")


def _unbeaten(result: SuggestResult) -> Padding:
    kits = " of any kit" if result.kits else ""
    counts = ", gap and steering ratio" if result.subject.words.steers else " and gap"
    return indented(UNBEATEN.format(kits, counts))


def _ranking(result: SuggestResult, reader: Reader) -> Padding:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    table.add_column("", justify="right")
    table.add_column("fit")
    drops = len({row.ball_joint_drop_mm for row in result.ranked}) > 1
    if drops:
        table.add_column(f"ball joint\n{result.subject.units}", justify="right")
    for name, unit in (
        ("peak", reader.short_toe_unit),
        ("slope", f"per {reader.per}"),
        ("curvature", reader.short_toe_unit),
        ("tilt left", "deg"),
        ("gap", result.subject.units),
        (result.subject.words.short_rod, result.subject.units),
    ):
        table.add_column(f"{name}\n{unit}", justify="right")
    studs = any(row.stud_height_ratio is not None for row in result.ranked)
    if studs:
        table.add_column("stud\nx std", justify="right")
    for row in result.ranked:
        table.add_row(*_cells(row, reader, drops=drops), style="" if row.fits else "dim")
        for reason in row.reasons:
            table.add_row("", Text(f"no: {reason}", style="red"))
    return Padding(table, (0, 0, 0, 2))


def _cells(row: Ranked, reader: Reader, *, drops: bool) -> list[str]:
    ball_joint = [reader.length(row.ball_joint_drop_mm)] if drops else []
    return [
        f"{row.rank}{'*' if row.unbeaten else ' '}",
        ("" if row.kit is None else f"{row.kit}: ") + what_to_fit(row, reader, as_is=row.is_as_is),
        *ball_joint,
        reader.toe(row.peak_toe_change_deg, signed=False),
        reader.slope(row.toe_slope_deg_per_10mm),
        reader.toe(row.toe_curvature_deg),
        "?" if row.tilt_margin_deg is None else f"{row.tilt_margin_deg:.1f}",
        "?" if row.clearance_mm is None else reader.length(row.clearance_mm),
        reader.length(row.tie_rod_length_change_mm, signed=True),
        *([] if row.stud_height_ratio is None else [f"{row.stud_height_ratio:.2f}"]),
    ]


def _drawing(result: SuggestResult, reader: Reader) -> list[RenderableType]:
    curves = result.curves
    rows = range(0, len(curves.travel_mm), 2)
    after = None if curves.best_deg is None else [curves.best_deg[k] for k in rows]
    lines = sketch(
        [reader.length(curves.travel_mm[k], signed=True) for k in rows],
        [curves.as_is_deg[k] for k in rows],
        after,
    )
    widest = max(abs(x) for x in [*curves.as_is_deg, *(curves.best_deg or [])])
    key = f"{BEFORE} now" + ("" if after is None else f", {AFTER} number 1")
    return [
        indented(
            f"{key}; toe-out to the left, toe-in to the right, "
            f"full width ±{reader.toe_with_unit(widest)}"
        ),
        *(indented(line) for line in lines),
    ]


def _readings(result: SuggestResult, reader: Reader) -> Padding:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    table.add_column(f"travel\n{result.subject.units}", justify="right")
    table.add_column(f"toe change from ride height\n{reader.toe_unit}", justify="right")
    for reading in reversed(result.expected):
        table.add_row(
            reader.length(reading.travel_mm, signed=True), reader.toe(reading.toe_change_deg)
        )
    return Padding(table, (1, 0, 0, 2))


def curve_report(result: CurveResult) -> str:
    """Render a curve as a table, bump first."""
    reader = Reader(result.subject)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    units = result.subject.units
    columns = {
        f"travel\n{units}": [reader.length(x, signed=True) for x in result.travel_mm],
        f"toe\n{reader.short_toe_unit}": [_or_dash(x, reader.toe) for x in result.toe_deg],
        **_other_toe(result, reader),
        "camber\ndeg": [_or_dash(x, _degrees) for x in result.camber_deg],
        **_axis_columns(result),
        f"half track\n{units}": [_or_dash(x, reader.length) for x in result.half_track_change_mm],
        "outer tilt\ndeg": [_or_dash(x, _degrees) for x in result.outer_tilt_deg],
        "inner tilt\ndeg": [_or_dash(x, _degrees) for x in result.inner_tilt_deg],
    }
    for title in columns:
        table.add_column(title, justify="right")
    for row in reversed(list(zip(*columns.values(), strict=True))):
        table.add_row(*row)
    alignment = alignment_section(result.alignment, reader)
    change, rod = result.tie_rod_length_change_mm, result.subject.words.rod.capitalize()
    length = "" if change is None else f"{rod} {reader.length(change, signed=True)} {units}. "
    return rendered(
        [
            heading(result.subject.name),
            *alignment,
            indented(f"{length}Toe of this wheel alone, {reader.toe_unit}, toe-in positive."),
            Padding(table, (0, 0, 0, 2)),
            *(indented(note) for note in result.notes),
        ]
    )


def _other_toe(result: CurveResult, reader: Reader) -> dict[str, list[str]]:
    """Toe of the other wheel of a beam axle."""
    if result.other_wheel_toe_deg is None:
        return {}
    toes = [_or_dash(x, reader.toe) for x in result.other_wheel_toe_deg]
    return {f"other wheel\n{reader.short_toe_unit}": toes}


def _axis_columns(result: CurveResult) -> dict[str, list[str]]:
    """Angles of the steering axis, where there is one."""
    if not result.subject.words.steers:
        return {}
    return {
        "caster\ndeg": [_or_dash(x, _degrees) for x in result.caster_deg],
        "kingpin\ndeg": [_or_dash(x, _degrees) for x in result.kingpin_inclination_deg],
    }


def _degrees(angle: float) -> str:
    return f"{angle:.2f}"


def _or_dash(value: float | None, text: Callable[[float], str]) -> str:
    return "-" if value is None else text(value)


def check_report(result: CheckResult, case_path: str) -> str:
    """Render what a case says and every doubt about it."""
    facts = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    for name, value in result.facts.items():
        facts.add_row(name, value)
    parts: list[RenderableType] = [
        heading(result.subject.name),
        what_it_is(result.subject, case_path),
        Padding(facts, (0, 0, 0, 2)),
    ]
    if result.alignment is not None:
        parts.append(heading("The wanted alignment"))
        lines = alignment_in_words(result.alignment, Reader(result.subject))
        parts += [indented(line) for line in lines]
    if result.doubts:
        parts.append(heading(f"Worth a second look ({len(result.doubts)})"))
        parts += [indented(f"{doubt.location}: {doubt.message}") for doubt in result.doubts]
    else:
        parts.append(indented("Nothing looks wrong."))
    return rendered(parts)
