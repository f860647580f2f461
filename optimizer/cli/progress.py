"""Progress on stderr, and only where someone is watching."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn


@contextmanager
def study_progress() -> Iterator[Callable[[int, int], None]]:
    """Show how many trials of the study are done."""
    console = Console(stderr=True)
    bar = Progress(
        TextColumn("Searching"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("trials"),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    )
    with bar:
        task = bar.add_task("", total=None)
        yield lambda done, wanted: bar.update(task, completed=done, total=wanted)
