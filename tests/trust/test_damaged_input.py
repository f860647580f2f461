"""Damaged input of every kind to every command: an answer or one clear refusal, never a crash.

A thousand in every run of the tests, twenty thousand in the slow ones.  Each is a run of the whole
program in a forked child; a sample is run by processes of their own as well, and must end the same.
"""

import json
import os
import resource
from collections import Counter
from pathlib import Path
from time import monotonic

import pytest

from .damaged_kinds import THOUSAND, Kind, forget, kinds, trials
from .forked import Ended, Run, answers, in_a_process

ALLOWED = {0, 1, 2}  # done; done, but nothing fits; the input is wrong


@pytest.fixture(scope="module")
def every_kind(tmp_path_factory: pytest.TempPathFactory) -> list[Kind]:
    return kinds(tmp_path_factory.mktemp("made"))


def spent() -> float:
    """Processor time of this process and of those that it has waited for. [s]."""
    usage = (resource.getrusage(one) for one in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in usage)


def wrong(ended: Ended) -> bool:
    """Whether a run did anything but answer, or refuse in a sentence.

    A refusal leaves nothing on stdout but the faults as JSON for a program that asked for it.
    """
    quiet = ended.out == "" or (ended.out.startswith("{") and "faults" in json.loads(ended.out))
    refused = ended.code == 2 and quiet and "pivotwright: error: " in ended.err
    answered = ended.code in (0, 1) and (ended.out != "" or ended.err.startswith("Written: "))
    escaped = "\x1b" in ended.err or "\x1b" in ended.out
    return not (answered or refused) or "Traceback" in ended.err or escaped


def tried(
    every: list[Kind], folder: Path, seed: int, thousands: int, workers: int
) -> tuple[dict[str, Counter[int]], list[str]]:
    """Exit codes by kind, and what went wrong; the folder of that is kept."""
    codes: dict[str, Counter[int]] = {}
    faults: list[str] = []
    asked: dict[Run, str] = {}

    def runs():
        for kind, number, run in trials(every, folder, seed, thousands):
            asked[run] = f"{kind.name} {number}"
            codes.setdefault(kind.name, Counter())
            yield run

    for run, ended in answers(runs(), workers):
        name = asked.pop(run)
        codes[name.rpartition(" ")[0]][ended.code] += 1
        if wrong(ended):
            faults.append(f"{name}: {ended.code} {ended.err[-300:]} ({run.folder})")
        else:
            forget(run)
    return codes, faults


@pytest.mark.parametrize(
    ("seed", "thousands"),
    [(15, 1), pytest.param(16, 20, marks=pytest.mark.slow)],
    ids=["a thousand", "twenty thousand"],
)
def test_damaged_input_is_answered_or_refused(every_kind, tmp_path, row_of_trust, seed, thousands):
    began, before = monotonic(), spent()
    codes, faults = tried(every_kind, tmp_path, seed, thousands, os.cpu_count() or 1)
    took = f"{spent() - before:,.0f} s of processor time, {monotonic() - began:,.0f} s by the clock"
    for name, counts in codes.items():
        bad = sum(count for code, count in counts.items() if code not in ALLOWED)
        row_of_trust(f"damaged {name}", counts.total(), f"{counts[2]:,} refused", bad)
    total = sum(counts.total() for counts in codes.values())
    row_of_trust("all of these damaged", 0, took, 0)
    assert total == THOUSAND * thousands
    assert faults == []


def sample(every: list[Kind], folder: Path, seed: int, count: int) -> list[Run]:
    """So many runs, of one kind after the other."""
    folder.mkdir()
    return [
        every[number % len(every)].run(seed, number // len(every), folder / f"{number}")
        for number in range(count)
    ]


def left_behind(run: Run) -> dict[str, bytes]:
    """Every file of its folder but the records, whose lines tell the time."""
    return {
        str(path.relative_to(run.folder)): path.read_bytes()
        for path in sorted(run.folder.rglob("*"))
        if path.is_file() and path.suffix != ".log"
    }


@pytest.mark.parametrize(
    ("seed", "count"),
    [(17, 12), pytest.param(18, 100, marks=pytest.mark.slow)],
    ids=["a few", "a hundred"],
)
def test_a_forked_child_answers_as_a_process_of_its_own(
    every_kind, tmp_path, row_of_trust, seed, count
):
    forked = [*answers(sample(every_kind, tmp_path / "forked", seed, count), 1)]
    alone = sample(every_kind, tmp_path / "alone", seed, count)
    unlike = []
    for (run, ended), other in zip(forked, alone, strict=True):
        if (ended, left_behind(run)) != (in_a_process(other), left_behind(other)):
            unlike.append(run)
    row_of_trust("damaged, by a process of its own", count, f"{len(unlike)} unlike", len(unlike))
    assert unlike == []
