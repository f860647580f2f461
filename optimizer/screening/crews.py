"""Who does the work: what any crew can be asked for, and the workers of a Dask cluster."""

import logging
from collections.abc import Callable
from concurrent.futures import Future
from importlib import import_module
from typing import Any, Protocol

from optimizer.errors import PivotwrightError
from optimizer.screening.processes import AHEAD, Answer, Asked

ANSWERS_WITHIN_S = 10.0
WORKERS_WITHIN_S = 30.0


class Crew(Protocol):
    """Workers that any function of one argument can be handed to."""

    given_up: tuple[type[BaseException], ...]
    """What work ends with that is not to be tried again."""

    def ahead(self) -> int:
        """How much to hand out at a time."""

    def submit(self, work: Callable[[Asked], Answer], asked: Asked) -> Future[Answer]:
        """Hand out work.

        It ends with `optimizer.screening.processes.WorkerLost` where a worker does that nobody
        stands in for.
        """

    def close(self) -> None:
        """Stop, whatever is under way."""


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
        self._executor: Any = self._client.get_executor(pure=False)

    def ahead(self) -> int:
        """A few for each thread of the workers that are there now."""
        threads: int = sum(self._client.ncores().values())
        return AHEAD * max(1, threads)

    def submit(self, work: Callable[[Asked], Answer], asked: Asked) -> Future[Answer]:
        """Hand out work; that of a worker that dies goes to another, a few times."""
        handed: Future[Answer] = self._executor.submit(work, asked)
        return handed

    def close(self) -> None:
        """Leave the cluster."""
        self._client.close()
