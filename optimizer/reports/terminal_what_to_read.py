"""The section about what to read first on a car that only a tape has seen."""

from collections.abc import Sequence

from rich.console import RenderableType

from optimizer.models.next_reading import NextReadings, WheelReadings
from optimizer.reports.terminal_parts import heading, indented
from optimizer.wording.next_readings import next_readings
from optimizer.wording.reader import Reader


def what_to_read_section(wheels: Sequence[WheelReadings], reader: Reader) -> list[RenderableType]:
    """What may be read before anything is, best first, of each wheel."""
    parts: list[RenderableType] = []
    for wheel in wheels:
        of = f", {wheel.side} wheel" if reader.subject.both_wheels else ""
        parts.append(heading(f"What to read first{of}"))
        parts += readings_lines(wheel.readings, reader, before=True)
    return parts


def readings_lines(
    readings: NextReadings, reader: Reader, *, before: bool = False
) -> list[RenderableType]:
    """What may be read next, best first."""
    now, ranked, worth = next_readings(readings, reader, before=before)
    return [indented(now), *(indented(f"- {text}") for text in ranked), indented(worth)]
