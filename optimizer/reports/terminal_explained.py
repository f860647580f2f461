"""The report of `explain`."""

from collections.abc import Sequence

from rich.console import RenderableType

from optimizer.reports.terminal_parts import heading, indented, rendered
from optimizer.wording.glossary import Explained


def explained_report(found: Sequence[Explained]) -> str:
    """Render words and what they mean."""
    parts: list[RenderableType] = []
    for one in found:
        also = f" (also {', '.join(one.also)})" if one.also else ""
        parts += [heading(f"{one.word}{also}"), indented(one.says)]
    return rendered(parts)
