"""Case files to loop over: a test that asks for `broken_case` runs once for each."""

from pathlib import Path

import pytest

from .case_texts import BROKEN, GOOD_CASES, BrokenCase


@pytest.fixture(params=list(BROKEN))
def broken_case(request: pytest.FixtureRequest, tmp_path: Path) -> BrokenCase:
    """Each broken case in turn, laid down as a file (or as whatever stands in its place)."""
    make, faults = BROKEN[request.param]
    path = tmp_path / "folder" / "coupe.toml"
    path.parent.mkdir()
    make(path)
    return BrokenCase(path, faults)


@pytest.fixture(params=list(GOOD_CASES))
def good_case(request: pytest.FixtureRequest) -> Path:
    """Each good case in turn."""
    return GOOD_CASES[request.param]


@pytest.fixture
def strut_text() -> str:
    """Text of a good strut case that states every key."""
    return GOOD_CASES["strut"].read_text(encoding="utf-8")


@pytest.fixture
def both_sides_text() -> str:
    """Text of a good case of both wheels, mirror images of each other."""
    return GOOD_CASES["both_sides"].read_text(encoding="utf-8")


@pytest.fixture
def no_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports as they are written to a file, whatever terminal the tests run in."""
    monkeypatch.setenv("NO_COLOR", "1")
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
