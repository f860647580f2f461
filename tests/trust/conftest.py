"""Faults of disks, databases, machines and files, in numbers: printed in one table.

``python -m pytest tests/trust`` makes all of them happen, many times, and prints the table;
``-m "not slow"`` few of them.
"""

import pytest

ROWS: list[tuple[str, int, str, int]] = []


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if not ROWS:
        return
    width = max(len(what) for what, *_ in ROWS)
    terminalreporter.write_sep("-", "trust")
    for what, times, found, _ in ROWS:
        terminalreporter.write_line(f"{what:<{width}}  {times:>6,}  {found}")
    faults = sum(count for *_, count in ROWS)
    total = sum(times for _, times, *_ in ROWS)
    terminalreporter.write_line(f"{'all':<{width}}  {total:>6,}  {faults} lost, doubled or crashed")


@pytest.fixture
def row_of_trust():
    """Add a row: what was made to happen, how often, what came of it, how often that was wrong."""

    def add(what: str, times: int, found: str, wrong: int) -> None:
        ROWS.append((what, times, found, wrong))

    return add
