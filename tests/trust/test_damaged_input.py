"""Damaged input of every kind to every command: an answer or one clear refusal, never a crash.

A thousand in every run of the tests, twenty thousand in the slow ones, all in one process.
"""

import json
import random
import signal
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import read_car
from optimizer.options.study.run import StudyPlan
from tests.conftest import EVERY_DEMO_CAR
from tests.optimizer.command_line import CASES, WISHBONE, run

from .damage import damaged

ALLOWED = {0, 1, 2}  # done; done, but nothing fits; the input is wrong
LONGEST_S = 120
READINGS = CASES / "readings"
KITS = CASES / "kits.toml"
TABLE = "name,x,y,z\n" + "\n".join(
    f"{name},{x},{y},{z}"
    for name, (x, y, z) in {
        "lower_arm_front": (160.0, 365.0, 205.0),
        "lower_arm_rear": (-190.0, 350.0, 212.0),
        "lower_ball_joint": (0.0, 735.0, 190.0),
        "strut_top": (-38.0, 575.0, 830.0),
        "strut_axis": (-5.0, 640.0, 400.0),
        "tie_rod_inner": (-118.0, 330.0, 268.0),
        "tie_rod_outer": (-128.0, 700.0, 262.0),
        "wheel_center": (4.0, 770.0, 318.0),
    }.items()
)


@dataclass(frozen=True)
class Trial:
    """What is damaged, under which name it stands, what else stands beside it, and the command.

    Of a thousand trials `share` are of this kind; it is the smaller, the longer an answer takes.
    """

    kind: str
    name: str
    sources: list[bytes]
    command: tuple[object, ...]
    share: int


def cars() -> list[bytes]:
    return [path.read_bytes() for path in EVERY_DEMO_CAR]


def record(folder: Path) -> bytes:
    """A study's record, whole."""
    place = folder / "record.log"
    suggest(read_car(WISHBONE), plan=SuggestPlan(StudyPlan(storage=str(place))))
    return place.read_bytes()


def trials(folder: Path) -> list[Trial]:
    """Every kind; a damaged file's name is put in the place of its `name` in the command."""
    strut = (CASES / "lowered-strut.toml").read_bytes()
    sweep = (READINGS / "lowered-strut.toml").read_bytes()
    pointless = (READINGS / "no-points.toml").read_bytes()
    (folder / "no-points.csv").write_bytes((READINGS / "no-points.csv").read_bytes())
    (folder / "whole.toml").write_bytes(pointless)
    rows = (READINGS / "no-points.csv").read_bytes()
    kits, case = KITS.read_bytes(), "car.toml"
    with_kits, one_height = ("--kits", "k.toml"), ("--heights", "0:0:1")
    screened = (*one_height, "--workers", "1", "--to", "to")
    known = CASES / "lowered-strut.toml"
    resumed = ("suggest", WISHBONE)
    points = ("new", "strut", "--points", "p.csv")
    return [
        Trial("case, check", case, cars(), ("check", case), 390),
        Trial("case, curve", case, cars(), ("curve", case, "--json"), 150),
        Trial("case, suggest", case, cars(), ("suggest", case, "--json"), 30),
        Trial("case, reach", case, cars(), ("reach", case, "--heights", "0:20:10", "--json"), 20),
        Trial("case, sheet", case, cars(), ("sheet", case, "--to", "sheet.html"), 20),
        Trial("case, gauge", case, [strut], ("gauge", case, READINGS / "lowered-strut.toml"), 20),
        Trial("case, screen", case, cars(), ("screen", case, "--kits", KITS, *screened), 5),
        Trial("kits, suggest", "k.toml", [kits], ("suggest", WISHBONE, *with_kits), 30),
        Trial("kits, reach", "k.toml", [kits], ("reach", WISHBONE, *with_kits, *one_height), 20),
        Trial("kits, screen", "k.toml", [kits], ("screen", WISHBONE, *with_kits, *screened), 5),
        Trial("readings, gauge with a case", "r.toml", [sweep], ("gauge", known, "r.toml"), 20),
        Trial("readings, gauge", "r.toml", [pointless], ("gauge", "r.toml", "--json"), 60),
        Trial("CSV of readings, gauge", "no-points.csv", [rows], ("gauge", "whole.toml"), 80),
        Trial("table of points, new", "p.csv", [TABLE.encode()], points, 130),
        Trial("record, suggest", "s.log", [record(folder)], (*resumed, "--study", "s.log"), 20),
    ]


@contextmanager
def at_most(seconds: int) -> Iterator[None]:
    """TimeoutError where it takes longer."""

    def stop(*_: object) -> None:
        raise TimeoutError

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def told(capsys: pytest.CaptureFixture[str], command: tuple[object, ...]) -> tuple[int, str, str]:
    """Exit code, stdout and stderr; a fault that escapes counts as Python's own exit code."""
    capsys.readouterr()
    try:
        with at_most(LONGEST_S):
            code = run(*command)
    except BaseException as fault:
        return -1, "", repr(fault)
    out, err = capsys.readouterr()
    return code, out, err


def wrong(code: int, out: str, err: str) -> bool:
    """Whether a run did anything but answer, or refuse in a sentence.

    A refusal leaves nothing on stdout but the faults as JSON for a program that asked for it.
    """
    quiet = out == "" or (out.startswith("{") and "faults" in json.loads(out))
    refused = code == 2 and quiet and "pivotwright: error: " in err
    answered = code in (0, 1) and out != ""
    return not (answered or refused) or "Traceback" in err or "\x1b" in err


def tried(
    folder: Path, seed: int, thousands: int, capsys: pytest.CaptureFixture[str]
) -> tuple[dict[str, Counter[int]], list[str]]:
    """Exit codes by kind, and what went wrong."""
    codes: dict[str, Counter[int]] = {}
    faults: list[str] = []
    for trial in trials(folder):
        whole = (folder / trial.name).read_bytes() if (folder / trial.name).exists() else None
        for number in range(trial.share * thousands):
            rng = random.Random(f"{seed} {trial.kind} {number}")
            (folder / trial.name).write_bytes(damaged(rng.choice(trial.sources), rng))
            end = told(capsys, trial.command)
            codes.setdefault(trial.kind, Counter())[end[0]] += 1
            if wrong(*end):
                kept = folder / f"fault-{len(faults)}-{trial.name}"
                kept.write_bytes((folder / trial.name).read_bytes())
                faults.append(f"{trial.kind} {number}: {end[0]} {end[2][-300:]} ({kept})")
        if whole is not None:
            (folder / trial.name).write_bytes(whole)
    return codes, faults


@pytest.mark.parametrize(
    ("seed", "thousands"),
    [(15, 1), pytest.param(16, 20, marks=pytest.mark.slow)],
    ids=["a thousand", "twenty thousand"],
)
@pytest.mark.filterwarnings("default")
def test_damaged_input_is_answered_or_refused(
    tmp_path, monkeypatch, capsys, row_of_trust, seed, thousands
):
    monkeypatch.chdir(tmp_path)
    codes, faults = tried(tmp_path, seed, thousands, capsys)
    for kind, counts in codes.items():
        refused = f"{counts[2]:,} refused"
        bad = sum(count for code, count in counts.items() if code not in ALLOWED)
        row_of_trust(f"damaged {kind}", counts.total(), f"{refused}, {bad} crashed", bad)
    assert sum(counts.total() for counts in codes.values()) == 1000 * thousands
    assert faults == []
