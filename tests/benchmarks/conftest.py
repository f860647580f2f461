"""Speed, as ratios within one run: printed in one table, never failing on time.

``OPENBLAS_NUM_THREADS=1 python -m pytest tests/benchmarks --benchmark-only`` runs them on one core
and prints the table; any other run of the tests skips them.
"""

import os
from pathlib import Path

import pytest

HERE = Path(__file__).parent
ROWS: list[tuple[str, str, str]] = []


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("benchmark_only", default=False):
        return
    slow = pytest.mark.skip(reason="speed is measured with --benchmark-only")
    for item in items:
        if HERE in item.path.parents and "benchmark" in item.fixturenames:
            item.add_marker(slow)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if not ROWS:
        return
    threads = os.environ.get("OPENBLAS_NUM_THREADS", "as many as it likes")
    widths = [max(len(row[column]) for row in ROWS) for column in range(2)]
    terminalreporter.write_sep("-", f"speed (threads of the matrix library: {threads})")
    for what, figure, goal in ROWS:
        line = f"{what:<{widths[0]}}  {figure:>{widths[1]}}  {goal}"
        terminalreporter.write_line(line.rstrip())


@pytest.fixture
def row_of_table():
    """Add a row to the table: what was measured, the figure, and the goal."""

    def add(what: str, figure: str, goal: str = "") -> None:
        ROWS.append((what, figure, goal and f"goal {goal}"))

    return add
