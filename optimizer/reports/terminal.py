"""The report of `suggest`."""

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from optimizer.models.setting import Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.reports.kits import kits_in_words, shim_in_words
from optimizer.reports.sketch import AFTER, BEFORE, sketch
from optimizer.reports.stud import stud_and_thread
from optimizer.reports.terminal_custom import custom_pivot_section
from optimizer.reports.terminal_parts import (
    alignment_section,
    bare_table,
    heading,
    indented,
    rendered,
    what_it_is,
)
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
from optimizer.wording.reader import Reader

UNBEATEN = "* no setting{} that fits beats it on peak, effort{} at once."


def suggest_report(result: SuggestResult, case_path: str) -> str:
    """Render the ranked answer."""
    reader = Reader(result.subject)
    winner = result.ranked[0] if result.ranked[0].fits else None
    parts: list[RenderableType] = [
        heading(f"{result.subject.name}"),
        what_it_is(result.subject, case_path),
        *alignment_section([(w.side, w.alignment) for w in result.wheels], reader),
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


def _unbeaten(result: SuggestResult) -> Padding:
    kits = " of any kit" if result.kits else ""
    counts = ", gap and steering ratio" if result.subject.words.steers else " and gap"
    return indented(UNBEATEN.format(kits, counts))


def _ranking(result: SuggestResult, reader: Reader) -> Padding:
    table = bare_table()
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
    table = bare_table()
    table.add_column(f"travel\n{result.subject.units}", justify="right")
    table.add_column(f"toe change from ride height\n{reader.toe_unit}", justify="right")
    for reading in reversed(result.expected):
        table.add_row(
            reader.length(reading.travel_mm, signed=True), reader.toe(reading.toe_change_deg)
        )
    return Padding(table, (1, 0, 0, 2))
