"""Speed, as ratios within one run: printed in one table, never failing on time.

``python -m pytest tests/benchmarks --benchmark-only`` runs them on one core and prints the table;
with ``--write-table`` it goes into DEVELOPERS.md as well, in the place of the one before.  Any
other run of the tests skips them.
"""

import os
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

import pytest

from .speed_table import Row, lines, write

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "DEVELOPERS.md"
ROWS: list[Row] = []


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--write-table",
        action="store_true",
        help="write the table of speeds into DEVELOPERS.md; run all of tests/benchmarks for it",
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("benchmark_only", default=False):
        return
    slow = pytest.mark.skip(reason="speed is measured with --benchmark-only")
    for item in items:
        if HERE in item.path.parents and "benchmark" in item.fixturenames:
            item.add_marker(slow)


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    if not ROWS:
        return
    threads = os.environ.get("OPENBLAS_NUM_THREADS", "as many as it likes")
    terminalreporter.write_sep("-", f"speed (threads of the matrix library: {threads})")
    for line in lines(ROWS):
        terminalreporter.write_line(line)
    if config.getoption("--write-table", default=False):
        day = datetime.now(UTC).date().isoformat()
        busy = ", ".join(f"{load:.1f}" for load in os.getloadavg())
        run = f"Version {version('pivotwright')}, {day}; load of the machine at the end {busy}:"
        write(PAGE, ROWS, run)


@pytest.fixture
def row_of_table():
    """Add a row to the table: what was measured, the figure, and the goal."""

    def add(what: str, figure: str, goal: str = "") -> None:
        ROWS.append((what, figure, goal))

    return add
