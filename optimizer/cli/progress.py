"""Progress on stderr, and only where someone is watching."""

import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager


def study_progress() -> AbstractContextManager[Callable[[int, int], None] | None]:
    """Show how many trials of the study are done; None where no one would see it."""
    return shown_progress("Searching", "trials")


@contextmanager
def shown_progress(doing: str, of: str) -> Iterator[Callable[[int, int], None] | None]:
    """Show how much of something is done; None where no one would see it."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    bar = Progress(
        TextColumn(doing),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn(of),
        console=Console(stderr=True),
        transient=True,
    )
    with bar:
        task = bar.add_task("", total=None)
        yield lambda done, wanted: bar.update(task, completed=done, total=wanted)
