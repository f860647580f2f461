"""Cars and sweeps to loop over: a test that asks for one runs once for each."""

from pathlib import Path

import pytest

CASES = Path(__file__).parents[3] / "cases"
CARS = ("lowered-strut", "track-wishbone", "kit-car-inches", "extended-strut")
SWEEPS = sorted((CASES / "readings").glob("*.toml"))


@pytest.fixture(params=SWEEPS, ids=lambda path: path.stem)
def demo_sweep(request: pytest.FixtureRequest) -> Path:
    """Readings file of each demo sweep in turn."""
    return request.param


@pytest.fixture(params=CARS)
def demo_car(request: pytest.FixtureRequest) -> Path:
    """Case file of each demo car on a strut or on double wishbones."""
    return CASES / f"{request.param}.toml"


@pytest.fixture
def demo_folder() -> Path:
    """Folder of the demo cars."""
    return CASES
