"""Cars and sweeps to loop over: a test that asks for one runs once for each."""

from collections.abc import Callable
from pathlib import Path

import pytest

from optimizer.cli.main import main

CASES = Path(__file__).parents[3] / "cases"
CARS = (
    "lowered-strut",
    "track-wishbone",
    "kit-car-inches",
    "extended-strut",
    "five-link-front",
    "five-link-rear",
    "tension-link-strut",
)
SWEEPS = sorted((CASES / "readings").glob("*.toml"))


@pytest.fixture(params=SWEEPS, ids=lambda path: path.stem)
def demo_sweep(request: pytest.FixtureRequest) -> Path:
    """Readings file of each demo sweep in turn."""
    return request.param


@pytest.fixture(params=CARS)
def demo_car(request: pytest.FixtureRequest) -> Path:
    """Case file of each demo car with a tie rod or a toe link in turn."""
    return CASES / f"{request.param}.toml"


@pytest.fixture
def demo_folder() -> Path:
    """Folder of the demo cars."""
    return CASES


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """What the program prints for a case (or none) and sweeps given as text, in one line."""

    def printed(*sweeps: str, case: Path | None = None, code: int = 0) -> str:
        paths = [] if case is None else [str(case)]
        for number, text in enumerate(sweeps, start=1):
            path = tmp_path / f"sweep{number}.toml"
            path.write_text(text, encoding="utf-8")
            paths.append(str(path))
        assert main(["gauge", *paths]) == code
        captured = capsys.readouterr()
        return " ".join((captured.out + captured.err).split())

    return printed
