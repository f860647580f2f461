"""The walkthrough: its commands, its outputs, its pictures, and where its readings come from."""

import re
import shutil
import tomllib
from pathlib import Path

import numpy as np
import pytest

from optimizer import read_case, read_readings
from optimizer.car.evaluate import Evaluator
from optimizer.cli.main import main
from tests.optimizer.gauging.garage import two_dial_sweep
from tests.test_documents import ROOT, SHOWN, printed

PLACE = "cases/walkthrough"
GUIDE = ROOT / PLACE / "README.md"
SEEDS = {"first-sweep": 3, "second-sweep": 4}


@pytest.fixture
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the folder, in which the commands may write."""
    shutil.copytree(ROOT / PLACE, tmp_path / PLACE)
    for drawn in (tmp_path / PLACE).glob("*.svg"):
        drawn.unlink()
    monkeypatch.chdir(tmp_path)
    return tmp_path / PLACE


def test_the_walkthrough_is_what_the_program_prints_and_draws(
    elsewhere: Path, request: pytest.FixtureRequest, capsys: pytest.CaptureFixture[str]
) -> None:
    text = GUIDE.read_text(encoding="utf-8")

    def as_printed(block: re.Match[str]) -> str:
        return f"```console\n$ {block[1]}\n{printed(block[1], capsys)}```"

    now = SHOWN.sub(as_printed, text)
    if request.config.getoption("accept_golden"):
        GUIDE.write_text(now, encoding="utf-8")
        for drawn in elsewhere.glob("*.svg"):
            shutil.copy(drawn, GUIDE.parent)
    assert GUIDE.read_text(encoding="utf-8") == now, "pytest --accept-golden rewrites it"
    pictures = re.findall(r"!\[.*?\]\((.*?)\)", now)
    assert sorted(pictures) == sorted(path.name for path in elsewhere.glob("*.svg"))
    for name in pictures:
        kept = (GUIDE.parent / name).read_text(encoding="utf-8")
        assert (elsewhere / name).read_text(encoding="utf-8") == kept


@pytest.mark.parametrize("name", SEEDS)
def test_its_sweeps_are_of_the_car_as_it_really_is(
    name: str, request: pytest.FixtureRequest
) -> None:
    tape = read_case(ROOT / PLACE / "hatch.toml").case
    really = tomllib.loads((ROOT / "tests/walkthrough.toml").read_text(encoding="utf-8"))
    points = type(tape.points).model_validate(really["points"], context={"units": "mm"})
    errors = [
        np.subtract(getattr(points, key), getattr(tape.points, key)) for key in really["points"]
    ]
    assert 1.0 < np.std(errors) < 2.0
    path = ROOT / PLACE / f"{name}.toml"
    kept = read_readings(path)
    true = Evaluator.of(tape.model_copy(update={"points": points}))
    rng = np.random.default_rng(SEEDS[name])
    swept = np.array(two_dial_sweep(true, rng, kept.fitted_drop).readings)[::-1]
    swept[:, 1:] -= swept[swept[:, 0] == 0.0, 1:]  # the dials are set to zero at ride height
    rows = "".join(f"    [{a:6.1f}, {b:6.2f}, {c:6.2f}],\n" for a, b, c in swept + 0.0)
    if request.config.getoption("accept_golden"):
        text = path.read_text(encoding="utf-8")
        path.write_text(text[: text.index("readings = [")] + f"readings = [\n{rows}]\n")
    assert f"readings = [\n{rows}]\n" in path.read_text(encoding="utf-8")


def test_the_last_stack_is_within_reach_of_the_best_on_the_car_as_it_really_is() -> None:
    tape = read_case(ROOT / PLACE / "hatch.toml").case
    really = tomllib.loads((ROOT / "tests/walkthrough.toml").read_text(encoding="utf-8"))
    points = type(tape.points).model_validate(really["points"], context={"units": "mm"})
    from optimizer.options.space import space_of

    true = Evaluator.of(tape.model_copy(update={"points": points}))
    settings = space_of(true.case).settings
    peaks = np.degrees(np.abs(true.toe_change(settings)).max(axis=1))
    fitted = read_readings(ROOT / PLACE / "second-sweep.toml").fitted_drop
    (peak,) = peaks[settings.outer_drop == fitted]
    assert peak < peaks.min() + 0.01
    assert peak < tape.aim.tolerance_deg


def test_a_stack_typed_wrong_is_asked_about_even_in_short(
    elsewhere: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sweep = elsewhere / "second-sweep.toml"
    text = sweep.read_text(encoding="utf-8")
    sweep.write_text(text.replace("outer_drop = 7.0", "outer_drop = 0.0"), encoding="utf-8")
    names = ["hatch", "first-sweep", "second-sweep"]
    main(["gauge", *(str(elsewhere / f"{name}.toml") for name in names), "--quiet"])
    told = " ".join(capsys.readouterr().out.split())
    found = re.search(r'Is the stack of "Second sweep" as typed\? 0 mm is typed; (\S+) mm', told)
    assert found is not None
    assert float(found[1]) == pytest.approx(7.0, abs=0.5)  # what really was fitted
