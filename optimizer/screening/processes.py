"""Processes of this machine, each at the end of a pipe of its own.

What all processes of a pool write to one pipe can't be read any more where one of them is killed in
the middle of it, and none of the others can write (as in `concurrent.futures`).
"""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from queue import SimpleQueue
from typing import Any, TypeVar

Asked = TypeVar("Asked")
Answer = TypeVar("Answer")

AHEAD = 4  # cars that wait or are worked on for each process


class WorkerLost(Exception):
    """A process ended over its work."""


class Processes:
    """As many processes as this machine has processors, if `workers` is left out."""

    given_up: tuple[type[BaseException], ...] = ()

    def __init__(self, workers: int | None = None) -> None:
        count = workers or cores()
        self._workers = [_Worker() for _ in range(count)]
        self._idle: SimpleQueue[_Worker] = SimpleQueue()
        for worker in self._workers:
            self._idle.put(worker)
        self._threads = ThreadPoolExecutor(count)  # one waits for each process

    def ahead(self) -> int:
        """A few for each process."""
        return AHEAD * len(self._workers)

    def submit(self, work: Callable[[Asked], Answer], asked: Asked) -> Future[Answer]:
        """Hand out work; it ends with `WorkerLost` where its process does."""
        return self._threads.submit(self._done, work, asked)

    def close(self) -> None:
        """Stop, whatever is under way."""
        self._threads.shutdown(wait=False, cancel_futures=True)
        for worker in self._workers:
            worker.stop()

    def _done(self, work: Callable[[Asked], Answer], asked: Asked) -> Answer:
        worker = self._idle.get()
        try:
            return worker.done(work, asked)
        finally:
            self._idle.put(worker)


class _Worker:
    """A process that is started when there is work for it, and again where it ended."""

    def __init__(self) -> None:
        self._process: SpawnProcess | None = None
        self._pipe: Connection[Any, Any]

    def done(self, work: Callable[[Asked], Answer], asked: Asked) -> Answer:
        """Have the work done."""
        if self._process is None:
            self._start()
        try:
            self._pipe.send((work, asked))
            answer: Answer = self._pipe.recv()
        except (EOFError, OSError):
            self.stop()
            raise WorkerLost from None
        return answer

    def stop(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()
            self._process = None

    def _start(self) -> None:
        spawned = multiprocessing.get_context("spawn")
        self._pipe, theirs = spawned.Pipe()
        self._process = spawned.Process(target=_work, args=(theirs,), daemon=True)
        self._process.start()
        theirs.close()  # or there would be no end to read where the process is gone


def cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _work(pipe: "Connection[Any, Any]") -> None:
    """In a process: do what comes, leave Ctrl-C to the parent, and end when it is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    while True:
        try:
            work, asked = pipe.recv()
        except EOFError:
            return
        pipe.send(work(asked))


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    assert parent is not None
    parent.join()
    os._exit(1)
