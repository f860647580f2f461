"""What tests share: the demo cars, and golden reports with a way to accept a change.

Run ``pytest --accept-golden`` to write what the reports say now into tests/golden, then read the
difference before keeping it.
"""

import difflib
import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

# As the program does; two workers of two threads each would wait for each other most of the time.
assert "numpy" not in sys.modules, "too late to say how many threads numpy may use"
for library in ("OPENBLAS", "MKL", "OMP"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")

settings.register_profile("untimed", deadline=None)  # no test fails on time
settings.load_profile("untimed")

ROOT = Path(__file__).parent.parent
GOLDEN = Path(__file__).parent / "golden"
EVERY_DEMO_CAR = [
    path
    for path in sorted((ROOT / "cases").glob("*.toml"))
    if "\nlayout" in path.read_text("utf-8")
]
DEMO_CARS = [path for path in EVERY_DEMO_CAR if "\n[left." not in path.read_text("utf-8")]
TWO_SIDED_CARS = [path for path in EVERY_DEMO_CAR if path not in DEMO_CARS]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--accept-golden",
        action="store_true",
        help="write what the reports say now into tests/golden instead of comparing",
    )


@pytest.fixture(params=DEMO_CARS, ids=lambda path: path.stem)
def demo_car(request: pytest.FixtureRequest) -> Path:
    """Case file of each demo car that is measured on one side, in turn."""
    return request.param


@pytest.fixture(params=TWO_SIDED_CARS, ids=lambda path: path.stem)
def two_sided_car(request: pytest.FixtureRequest) -> Path:
    """Case file of each demo car that is measured on both sides, in turn."""
    return request.param


@pytest.fixture(params=EVERY_DEMO_CAR, ids=lambda path: path.stem)
def any_demo_car(request: pytest.FixtureRequest) -> Path:
    """Case file of each demo car in turn."""
    return request.param


@pytest.fixture
def same_as_golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with a file of tests/golden, or write it there with --accept-golden."""
    accept = request.config.getoption("accept_golden")

    def compare(name: str, text: str) -> None:
        path = GOLDEN / name
        if accept:
            path.write_text(text, encoding="utf-8")
        golden = path.read_text(encoding="utf-8") if path.exists() else ""
        difference = difflib.unified_diff(
            golden.splitlines(), text.splitlines(), f"golden/{name}", "now", lineterm="", n=1
        )
        assert text == golden, "\n".join(
            [*difference, "", "If this is meant: pytest --accept-golden, and read the difference."]
        )

    return compare
