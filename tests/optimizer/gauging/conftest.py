"""Cars and sweeps to loop over: a test that asks for one runs once for each."""

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from optimizer.cli.main import main
from optimizer.files.case_file import read_car
from optimizer.files.readings_file import read_readings
from optimizer.gauging.loop import gauge
from optimizer.models.gauge import GaugeResult, WheelGauge

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
def answered(tmp_path: Path) -> Callable[..., GaugeResult]:
    """What is answered for a case (or none) and sweeps given as text."""

    def answer(*sweeps: str, case: Path | None = None) -> GaugeResult:
        vehicle = None if case is None else read_car(case)
        return gauge(vehicle, [read_readings(path) for path in typed(tmp_path, sweeps)])

    return answer


@pytest.fixture
def judged(answered: Callable[..., GaugeResult]) -> Callable[..., WheelGauge]:
    """What is answered for the one wheel that is judged."""
    return lambda *sweeps, **options: answered(*sweeps, **options).wheels[0]


@pytest.fixture
def refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """What the program prints where it refuses sweeps given as text, in one line."""

    def printed(*sweeps: str, case: Path | None = None) -> str:
        paths = [] if case is None else [case]
        assert main(["gauge", *map(str, [*paths, *typed(tmp_path, sweeps)])]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        return " ".join(err.split())

    return printed


@pytest.fixture
def as_typed(tmp_path: Path) -> Callable[[str, str], Path]:
    """A file of readings, by its name, with exactly what is typed."""

    def write(name: str, text: str) -> Path:
        path = tmp_path / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def typed(folder: Path, sweeps: Sequence[str]) -> list[Path]:
    """Files of sweeps given as text, at the standard seat where they don't say what was fitted."""
    paths = [folder / f"sweep{number}.toml" for number in range(1, len(sweeps) + 1)]
    for path, text in zip(paths, sweeps, strict=True):
        seat = [f"{key} = 0.0\n" for key in ("outer_drop", "rack_raise") if key not in text]
        path.write_text("".join([*seat, text]), encoding="utf-8")
    return paths
