"""Many runs of the program at the price of a few: children of processes that have imported it."""

import json
import os
import queue
import subprocess
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.optimizer.command_line import ROOT

LONGEST_S = 120
MEMORY = 4 << 30  # bytes that a run may ask for, what the program itself takes up included
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1"}


@dataclass(frozen=True)
class Ended:
    """Exit code of a run, below 0 the signal that ended it, and what it printed."""

    code: int
    out: str
    err: str


@dataclass(frozen=True)
class Run:
    """A command and the folder to stand in."""

    words: tuple[str, ...]
    folder: Path

    def streams(self) -> tuple[Path, Path]:
        """Files for stdout and stderr, beside the folder."""
        out, err = (self.folder.with_name(f"{self.folder.name}.{end}") for end in ("out", "err"))
        return out, err

    def ended(self, code: int) -> Ended:
        """How it ended, from what is in those files."""
        out, err = (path.read_bytes().decode("utf-8", "replace") for path in self.streams())
        for path in self.streams():
            path.unlink()
        return Ended(code, out, err)


class Server:
    """One process that answers runs in its children, one at a time."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.trust.fork_server"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env=os.environ | ONE_THREAD,
        )

    def answer(self, run: Run) -> Ended:
        out, err = run.streams()
        job = {"words": run.words, "folder": str(run.folder), "out": str(out), "err": str(err)}
        job |= {"seconds": LONGEST_S, "memory": MEMORY}
        self._process.stdin.write(json.dumps(job) + "\n")
        self._process.stdin.flush()
        return run.ended(int(self._process.stdout.readline()))

    def stop(self) -> None:
        self._process.stdin.close()
        self._process.wait()
        self._process.stdout.close()


@contextmanager
def servers(count: int) -> Iterator["queue.SimpleQueue[Server]"]:
    idle, every = queue.SimpleQueue[Server](), [Server() for _ in range(count)]
    for one in every:
        idle.put(one)
    try:
        yield idle
    finally:
        for one in every:
            one.stop()


def answers(runs: Iterable[Run], workers: int) -> Iterator[tuple[Run, Ended]]:
    """Every run with how it ended, in their order; few of them are prepared ahead."""

    with servers(workers) as idle, ThreadPoolExecutor(workers) as threads:

        def answer(run: Run) -> tuple[Run, Ended]:
            server = idle.get()
            try:
                return run, server.answer(run)
            finally:
                idle.put(server)

        under_way = queue.SimpleQueue()
        for run in runs:
            under_way.put(threads.submit(answer, run))
            if under_way.qsize() > 4 * workers:
                yield under_way.get().result()
        while not under_way.empty():
            yield under_way.get().result()


def in_a_process(run: Run) -> Ended:
    """The same by a process of its own."""
    out, err = run.streams()
    with out.open("wb") as told, err.open("wb") as said:
        ended = subprocess.run(
            [sys.executable, "-m", "optimizer.cli", *run.words],
            stdin=subprocess.DEVNULL,
            stdout=told,
            stderr=said,
            cwd=run.folder,
            check=False,
            timeout=LONGEST_S,
            env=os.environ | ONE_THREAD | {"PYTHONPATH": str(ROOT)},
        )
    return run.ended(ended.returncode)
