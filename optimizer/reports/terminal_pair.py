"""The report of `suggest` for a car whose wheels were both measured."""

from collections.abc import Callable, Iterator

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from optimizer.models.setting import Setting
from optimizer.models.suggest import SuggestResult
from optimizer.models.together import RankedPair, SuggestOfBothSides
from optimizer.reports.kits import kits_in_words, shim_in_words
from optimizer.reports.sketch import AFTER, BEFORE, sketch
from optimizer.reports.stud import stud_and_thread
from optimizer.reports.terminal_custom import custom_pivot_section
from optimizer.reports.terminal_parts import heading, indented, rendered
from optimizer.reports.terminal_side_effects import side_effects_of_both
from optimizer.reports.terminal_sides import (
    alignment_of_both,
    sides_section,
    subject_line,
    table_of,
)
from optimizer.reports.words import (
    next_steps,
    sureness_in_words,
    tightest_in_words,
    what_it_does,
    what_to_fit,
)
from optimizer.wording.reader import Reader

SAME_START = 10  # letters; cautions that begin alike differ in a length only

Wheels = tuple[tuple[str, SuggestResult], tuple[str, SuggestResult]]


def suggest_both_report(result: SuggestOfBothSides, case_path: str) -> str:
    """Render the ranked answer for both wheels."""
    reader, together = Reader(result.subject), result.together
    wheels: Wheels = (("left", result), ("right", result.right))
    parts: list[RenderableType] = [
        heading(result.subject.name),
        subject_line(result.subject, case_path),
    ]
    parts += alignment_of_both(result.alignment, result.right.alignment, reader)
    for side, wheel in wheels:
        parts.append(heading(f"What the {side} wheel does now"))
        parts += [indented(line) for line in what_it_does(wheel, reader)]
    parts += sides_section(together, reader)
    parts += [
        heading("What to fit, best first"),
        _ranking(together.ranked, reader),
        *(indented(line) for line in _reasons(together.ranked)),
        *(indented(line) for line in kits_in_words(result.kits, result.currency)),
        indented(_proof_in_words(result, reader)),
        *(indented(line) for line in _of_each_wheel(wheels, reader)),
        heading("Toe change over the used travel, left and right"),
        *_drawings(wheels, reader),
    ]
    if changed := side_effects_of_both(result, result.right, reader):
        parts += [heading("What else it changes"), *changed]
    for side, wheel in wheels:
        if wheel.custom is not None:
            parts.append(heading(f"A pivot made to measure, {side} wheel"))
            parts += custom_pivot_section(wheel, Reader(wheel.subject))
    if together.ranked[0].fits:
        parts += _work(result, wheels, reader)
    else:
        parts.append(indented("Nothing that can be built keeps every limit on both wheels."))
    return rendered(parts)


def _ranking(ranked: list[RankedPair], reader: Reader) -> Padding:
    units, toe = reader.subject.units, reader.short_toe_unit
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="underline")
    drops = len({row.ball_joint_drop_mm for row in ranked}) > 1
    shared = [f"raise {reader.words.inner}\n{units}"] if reader.words.steers else []
    kits = any(row.kit for row in ranked)
    table.add_column("", justify="right")
    if kits:
        table.add_column("kit\n")
    for title in (*shared, *([f"ball joint\n{units}"] if drops else [])):
        table.add_column(title, justify="right")
    for side in ("left", "right"):
        table.add_column(f"drop {side}\n{units}" if shared else f"fit {side}\n")
        table.add_column(f"{side} peak\n{toe}", justify="right")
    table.add_column("spare tilt\ndeg", justify="right")
    table.add_column(f"gap\n{units}", justify="right")
    for row in ranked:
        wheels = (row.left, row.right)
        table.add_row(
            f"{row.rank}",
            *([row.kit or "none"] if kits else []),
            *_shared(row, reader, drops=drops),
            *(cell for wheel in wheels for cell in _wheel(wheel, row, reader)),
            _least([wheel.tilt_margin_deg for wheel in wheels], _angle),
            _least([wheel.clearance_mm for wheel in wheels], reader.length),
            style="" if row.fits else "dim",
        )
    return Padding(table, (0, 0, 0, 2))


def _shared(row: RankedPair, reader: Reader, *, drops: bool) -> list[str]:
    """Cells of what both wheels have in common."""
    if row.rack_raise_mm is None or row.ball_joint_drop_mm is None:
        return []
    rack = "as it is" if row.is_as_is else reader.length(row.rack_raise_mm, signed=True)
    return [rack, *([reader.length(row.ball_joint_drop_mm)] if drops else [])]


def _wheel(setting: Setting, row: RankedPair, reader: Reader) -> tuple[str, str]:
    """What one wheel gets, and its peak."""
    pieces = f" ({reader.pieces(setting.stack_mm)})" if len(setting.stack_mm) > 1 else ""
    fit = f"{reader.length(setting.outer_drop_mm)}{pieces}"
    if row.rack_raise_mm is None:
        fit = what_to_fit(setting, reader, as_is=row.is_as_is)
    return fit, reader.toe(setting.peak_toe_change_deg, signed=False)


def _least(margins: list[float | None], text: Callable[[float], str]) -> str:
    stated = [margin for margin in margins if margin is not None]
    return text(min(stated)) if stated else "?"


def _angle(angle_deg: float) -> str:
    return f"{angle_deg:.1f}"


def _reasons(ranked: list[RankedPair]) -> list[str]:
    return [
        f"Number {row.rank} does not fit: {'; '.join(row.reasons)}."
        for row in ranked
        if row.reasons
    ]


def _proof_in_words(result: SuggestOfBothSides, reader: Reader) -> str:
    proof = result.together.certificate
    at = f"at each of {proof.rack_heights} {reader.words.inner} heights "
    at, of_which = (
        (at, f" at that {reader.words.inner} height") if reader.words.steers else ("", "")
    )
    kits = ", with each kit," if result.kits else ""
    scored = (
        f"Proof: {at}all settings of both wheels{kits} scored, {proof.left_settings:,} left and "
        f"{proof.right_settings:,} right, {proof.pairs:,} pairs"
    )
    best = proof.best_peak_toe_change_deg
    if best is None:
        return f"{scored}; none of them keeps every limit on both wheels."
    return (
        f"{scored}; none that fits has both wheels peak below {reader.toe_with_unit(best)}. Each "
        f"wheel has the simplest setting within 0.01 deg of its best{of_which}."
    )


def _of_each_wheel(wheels: Wheels, reader: Reader) -> Iterator[str]:
    """Sentences about number 1 that differ from wheel to wheel."""
    for side, wheel in wheels:
        yield f"{side.capitalize()}: {tightest_in_words(wheel.ranked[0], reader)}"
    for side, wheel in wheels:
        yield f"{side.capitalize()}: {sureness_in_words(wheel.uncertainty, wheel, reader)}"
    for side, wheel in wheels:
        yield from (f"{side.capitalize()}: {text}" for text in shim_in_words(wheel, reader))


def _drawings(wheels: Wheels, reader: Reader) -> Iterator[RenderableType]:
    """Draw both wheels now, and both with number 1."""
    (_, left), (_, right) = wheels
    now = (left.curves.as_is_deg, right.curves.as_is_deg)
    best = (left.curves.best_deg, right.curves.best_deg)
    yield from _drawing("Now", left.curves.travel_mm, now, reader)
    if best[0] is not None and best[1] is not None and best != now:
        yield from _drawing("With number 1", left.curves.travel_mm, (best[0], best[1]), reader)


def _drawing(
    what: str, travel_mm: list[float], curves: tuple[list[float], list[float]], reader: Reader
) -> Iterator[RenderableType]:
    rows = range(0, len(travel_mm), 2)
    left, right = ([curve[k] for k in rows] for curve in curves)
    widest = max(abs(x) for curve in curves for x in curve)
    yield indented(
        f"{what}: {BEFORE} left wheel, {AFTER} right wheel; toe-out to the left, toe-in to the "
        f"right, full width ±{reader.toe_with_unit(widest)}"
    )
    labels = [reader.length(travel_mm[k], signed=True) for k in rows]
    yield from (indented(line) for line in sketch(labels, left, right))


def _work(result: SuggestOfBothSides, wheels: Wheels, reader: Reader) -> Iterator[RenderableType]:
    """What to heed, to fit, and to read on the gauge afterwards."""
    strength = [
        f"{side.capitalize()}: {text}"
        for side, wheel in wheels
        for text in stud_and_thread(wheel.ranked[0], wheel.stud, wheel.thread, reader)
    ]
    if strength:
        yield heading("Stud and thread")
        yield from (indented(text) for text in strength)
    yield heading("Before it goes on the road")
    yield from (indented(f"- {text}") for text in _cautions(wheels))
    yield heading("What to do next")
    steps = _steps(wheels, result.together.ranked[0].kit, reader)
    yield from (indented(f"{k}. {step}") for k, step in enumerate(steps, start=1))
    yield Text("")
    yield _readings(result, reader)


def _cautions(wheels: Wheels) -> list[str]:
    """Cautions of both wheels, each once; of two stacks that of the taller one."""
    taller_first = sorted((wheel for _, wheel in wheels), key=_least_stack)
    told: dict[str, str] = {}
    for text in (text for wheel in taller_first for text in wheel.cautions):
        told.setdefault(text[:SAME_START], text)
    return list(told.values())


def _least_stack(wheel: SuggestResult) -> float:
    return -abs(wheel.ranked[0].outer_drop_mm)


def _steps(wheels: Wheels, kit: str | None, reader: Reader) -> list[str]:
    """Say what to do on the car, in order, to both wheels at once."""
    words = reader.words
    fits, rods = [], []
    for side, wheel in wheels:
        first = wheel.ranked[0]
        as_is = first.is_as_is and kit is None
        fits.append(f"{side}: {what_to_fit(first, reader, as_is=as_is)}")
        change = first.tie_rod_length_change_mm
        longer = "longer" if change > 0.0 else "shorter"
        rods.append(f"{reader.length_with_unit(abs(change))} {longer} {side}")
    shared = f" There is one {words.inner}: what raises it goes under both ends."
    return [
        "Record the ride height first (hub to arch, driver's weight in). Fit "
        f"{'' if kit is None else f'{kit} on both wheels; '}{'; '.join(fits)}."
        f"{shared if words.steers else ''}",
        f"Reset toe at ride height: the {words.short_rod}s come out about {' and '.join(rods)} "
        "than measured.",
        *next_steps(wheels[0][1].ranked[0], wheels[0][1], reader)[2:],
    ]


def _readings(result: SuggestOfBothSides, reader: Reader) -> Padding:
    """Toe change that the gauge should show on both wheels."""
    rows = list(zip(result.expected, result.right.expected, strict=True))[::-1]
    unit = reader.short_toe_unit
    return table_of(
        {
            f"travel\n{result.subject.units}": [
                reader.length(left.travel_mm, signed=True) for left, _ in rows
            ],
            f"left\n{unit}": [reader.toe(left.toe_change_deg) for left, _ in rows],
            f"right\n{unit}": [reader.toe(right.toe_change_deg) for _, right in rows],
            f"total\n{unit}": [
                reader.toe(left.toe_change_deg + right.toe_change_deg) for left, right in rows
            ],
        }
    )
