"""Who does the work: processes of this machine, or the workers of a Dask cluster."""

import logging
import multiprocessing
import os
import signal
import threading
from concurrent.futures import Executor, ProcessPoolExecutor
from importlib import import_module
from typing import Any, Protocol

from optimizer.errors import PivotwrightError

AHEAD = 4  # cars that wait or are worked on for each worker
ANSWERS_WITHIN_S = 10.0
WORKERS_WITHIN_S = 30.0


class Crew(Protocol):
    """An executor, and what must be known of it."""

    executor: Executor
    given_up: tuple[type[BaseException], ...]
    """What a car ends with that is not to be tried again."""

    def ahead(self) -> int:
        """How many cars to hand out at a time."""

    def renew(self) -> None:
        """Put another executor in the place of one that broke."""

    def close(self) -> None:
        """Stop, whatever is under way."""


class Processes:
    """Processes of this machine, as many as it has processors if left out."""

    def __init__(self, workers: int | None = None) -> None:
        self.workers = workers or cores()
        self.given_up: tuple[type[BaseException], ...] = ()
        self.executor: Executor = self._pool()

    def ahead(self) -> int:
        """A few for each process."""
        return AHEAD * self.workers

    def renew(self) -> None:
        """Start other processes."""
        self.close()
        self.executor = self._pool()

    def close(self) -> None:
        """Stop the processes once they have done what they work on."""
        self.executor.shutdown(wait=False, cancel_futures=True)

    def _pool(self) -> Executor:
        spawned = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(self.workers, mp_context=spawned, initializer=_follow_parent)


def cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _follow_parent() -> None:
    """In a child: leave Ctrl-C to the parent, and end when it is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    assert parent is not None

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


class Cluster:
    """The workers of a Dask cluster, which hands the work of one that dies to another.

    Raises
    ------
    PivotwrightError
        The packages are missing, nothing answers at the address, or no worker is there.
    """

    def __init__(self, address: str) -> None:
        try:
            distributed: Any = import_module("distributed")  # it has no types
        except ImportError:
            raise PivotwrightError(
                "--scheduler: needs packages that are not installed; "
                "pip install 'pivotwright[cluster]' brings them"
            ) from None
        for name in ("distributed", "distributed.client"):  # what goes wrong is told here
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
        self.given_up: tuple[type[BaseException], ...] = (distributed.KilledWorker,)
        try:
            self._client: Any = distributed.Client(
                address, set_as_default=False, timeout=ANSWERS_WITHIN_S
            )
        except (OSError, ValueError, ImportError) as fault:
            raise PivotwrightError(f"--scheduler {address}: does not answer ({fault})") from None
        try:
            self._client.wait_for_workers(1, timeout=WORKERS_WITHIN_S)
        except TimeoutError:
            self.close()
            raise PivotwrightError(
                f"--scheduler {address}: has no worker after {WORKERS_WITHIN_S:.0f} s "
                f"(start one: dask worker {address} --nthreads 1)"
            ) from None
        self.executor: Executor = self._client.get_executor(pure=False)

    def ahead(self) -> int:
        """A few for each thread of the workers that are there now."""
        threads: int = sum(self._client.ncores().values())
        return AHEAD * max(1, threads)

    def renew(self) -> None:
        """Keep the cluster: it mends itself."""

    def close(self) -> None:
        """Leave the cluster."""
        self._client.close()
