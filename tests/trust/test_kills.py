"""Workers killed at any moment, thirty times each: nothing lost, nothing done twice."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import optuna
import pytest

from optimizer.options.study.storage import opened_storage
from tests.optimizer.command_line import ROOT, WISHBONE, process
from tests.optimizer.options.postgres import Server, programs, server
from tests.optimizer.screening.many_cars import KITS, times_kept, write_cars

KILLS = 30
FIRST_S = 0.5  # before which a program only imports
CARS, HEIGHTS = 8, "0:50:10"
pytestmark = pytest.mark.slow


def killed(seed: int, longest_s: float, *command: object) -> bool:
    """Whether a run was killed, after a while of its own, before it came to its end."""
    started = subprocess.Popen(
        [sys.executable, "-m", "optimizer.cli", *map(str, command)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=ROOT,
        start_new_session=True,
    )
    time.sleep(random.Random(seed).uniform(FIRST_S, longest_s))
    ended = started.poll() is not None
    if not ended:
        os.killpg(started.pid, signal.SIGKILL)
    started.wait()
    assert not ended or started.returncode == 0
    return not ended


def answer(*command: object) -> tuple[str, float]:
    """What a run answers, and how long it takes. [s]."""
    began = time.monotonic()
    ended = process(*command)
    assert ended.returncode == 0, ended.stderr
    return ended.stdout, time.monotonic() - began


def rows_told(place: str) -> Counter[tuple[int, ...]]:
    with opened_storage(place) as store:
        (summary,) = optuna.get_all_study_summaries(store)
        study = optuna.load_study(study_name=summary.study_name, storage=store)
        trials = study.get_trials(states=(optuna.trial.TrialState.COMPLETE,))
    return Counter(tuple(trial.user_attrs["rows"]) for trial in trials)


def survived(place: str, seed: int) -> tuple[int, int]:
    """How many kills a study met before its answer was the undisturbed one, and what was wrong."""
    command = ("suggest", WISHBONE, "--show", 60, "--json")
    whole, takes = answer(*command)
    kills = 0
    while kills < KILLS and killed(seed + kills, takes + 2.0, *command, "--study", place):
        kills += 1
    told, _ = answer(*command, "--study", place)
    trials = json.loads(whole)["certificate"]["study_trials"]
    rows = rows_told(place)
    wrong = abs(len(rows) - trials) + sum(count - 1 for count in rows.values())
    return kills, wrong + (told != whole)


def test_a_study_in_a_file(tmp_path, row_of_trust):
    kills = wrong = studies = 0
    while kills < KILLS:
        more, faults = survived(str(tmp_path / f"{studies}.log"), 100 * studies)
        kills, wrong, studies = kills + more, wrong + faults, studies + 1
    row_of_trust("kills of a study in a file", kills, f"{studies} answers, {wrong} wrong", wrong)
    assert wrong == 0


@pytest.fixture(scope="module")
def shared() -> Iterator[Server]:
    with server() as one:
        yield one


@pytest.mark.skipif(programs() is None, reason="needs PostgreSQL (Debian: apt install postgresql)")
def test_a_worker_of_a_database(shared, row_of_trust):
    kills = wrong = studies = 0
    while kills < KILLS:
        shared.make(f"study{studies}")
        url = shared.url(database=f"study{studies}")
        more, faults = survived(url, 100 * studies)
        kills, wrong, studies = kills + more, wrong + faults, studies + 1
    row_of_trust("kills of a database's worker", kills, f"{studies} answers, {wrong} wrong", wrong)
    assert wrong == 0


def test_a_screening(tmp_path, row_of_trust):
    cars = tmp_path / "cars"
    write_cars(cars, CARS)
    words = ("screen", cars, "--kits", KITS, "--heights", HEIGHTS, "--workers", 2, "--to")
    _, takes = answer(*words, tmp_path / "whole")
    whole = rows_of(tmp_path / "whole")
    kills = wrong = runs = 0
    while kills < KILLS:
        to = tmp_path / f"killed-{runs}"
        met = 0
        # Most are killed before they can end, so that a screening meets several kills on its way.
        while met < KILLS and killed(100 * runs + met, 0.75 * takes, *words, to):
            met += 1
        if met == KILLS:  # else the last one came to its end
            answer(*words, to)
        wrong += rows_of(to) != whole or max(times_kept(to).values()) > 1
        kills, runs = kills + met, runs + 1
    row_of_trust("kills of a screening", kills, f"{runs} screenings, {wrong} wrong", wrong)
    assert wrong == 0


def rows_of(folder: Path) -> list[str]:
    return (folder / "rows.jsonl").read_text("utf-8").splitlines()
