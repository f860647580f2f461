"""The section about what to read first on a car that only a tape has seen."""

from collections.abc import Sequence

from rich.console import RenderableType

from optimizer.models.next_reading import WheelReadings
from optimizer.reports.terminal_parts import heading, indented
from optimizer.wording.next_readings import next_readings
from optimizer.wording.reader import Reader


def what_to_read_section(wheels: Sequence[WheelReadings], reader: Reader) -> list[RenderableType]:
    """What may be read before anything is, best first, of each wheel."""
    parts: list[RenderableType] = []
    for wheel in wheels:
        of = f", {wheel.side} wheel" if reader.subject.both_wheels else ""
        told = next_readings(wheel.readings, reader, before=True)
        parts += [heading(f"What to read first{of}"), *map(indented, told)]
    return parts
