"""Screening by a Dask cluster: a real scheduler, two worker processes, one of which is killed."""

import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.optimizer.command_line import ROOT, run

from .many_cars import KITS, times_kept, write_cars

pytest.importorskip("distributed")
CARS, HEIGHTS = 16, "0:40:10"
NO_PAGE = ("--no-dashboard",)
PROGRAM = (sys.executable, "-m", "optimizer.cli")


@contextmanager
def process(log: Path, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """A process of Dask's, ended with the block."""
    with log.open("wb") as out:
        started = subprocess.Popen(
            [sys.executable, "-m", "distributed.cli." + arguments[0], *arguments[1:]],
            cwd=ROOT,
            stdout=out,
            stderr=subprocess.STDOUT,
        )
    try:
        yield started
    finally:
        started.kill()
        started.wait()


@pytest.fixture
def scheduler(tmp_path: Path) -> Iterator[str]:
    """Address of a scheduler on this machine."""
    log = tmp_path / "scheduler.log"
    with process(log, "dask_scheduler", "--host", "127.0.0.1", "--port", "0", *NO_PAGE):
        until = time.monotonic() + 60.0
        while (found := re.search(r"tcp://[\d.]+:\d+", log.read_text("utf-8"))) is None:
            assert time.monotonic() < until, log.read_text("utf-8")
            time.sleep(0.05)
        yield found[0]


def worker(tmp_path: Path, address: str, number: int):
    log = tmp_path / f"worker-{number}.log"
    once = ("--nthreads", "1", "--no-nanny", *NO_PAGE)
    return process(log, "dask_worker", address, *once)


@pytest.mark.slow
def test_no_row_is_lost_or_doubled_where_a_worker_of_a_cluster_is_killed(tmp_path, scheduler):
    write_cars(tmp_path / "cars", CARS)
    screen = ["screen", tmp_path / "cars", "--kits", KITS, "--heights", HEIGHTS, "--to"]
    assert run(*screen, tmp_path / "expected", "--workers", 2) == 0
    to = tmp_path / "to"
    with worker(tmp_path, scheduler, 1) as first, worker(tmp_path, scheduler, 2) as second:
        program = subprocess.Popen(
            [*PROGRAM, *map(str, screen), str(to), "--scheduler", scheduler],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        each, until = len(times_kept(tmp_path / "expected")) // CARS, time.monotonic() + 120.0
        while not (to / "rows.jsonl").exists() or len(times_kept(to)) < 2 * each:
            assert time.monotonic() < until
            assert program.poll() is None, program.stderr.read()
            time.sleep(0.02)
        assert first.poll() is None
        first.send_signal(signal.SIGKILL)
        kept_then = len(times_kept(to))
        _, err = program.communicate(timeout=300)
        assert second.poll() is None
    assert program.returncode == 0, err
    assert kept_then < CARS * each, "the worker was killed too late to matter"
    assert set(times_kept(to).values()) == {1}
    assert (to / "rows.jsonl").read_bytes() == (tmp_path / "expected/rows.jsonl").read_bytes()


def test_a_scheduler_that_is_not_there_is_said(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("optimizer.screening.crews.ANSWERS_WITHIN_S", 0.2)
    write_cars(tmp_path / "cars", 1)
    code = run(
        *("screen", tmp_path / "cars", "--kits", KITS, "--to", tmp_path / "to"),
        *("--scheduler", "tcp://127.0.0.1:9"),
    )
    assert code == 2
    assert "--scheduler tcp://127.0.0.1:9: does not answer" in capsys.readouterr().err
