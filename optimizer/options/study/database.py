"""A study in a database that machines share: opened by many at once, patient while it restarts."""

import logging
import random
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from itertools import count
from typing import Any, cast

import optuna
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError

from optimizer.errors import PivotwrightError, without_credentials

PATIENCE_S = 60.0  # while a database that has answered before does not answer
AWAY = f"{{named}}: the database does not answer; it is asked again for {PATIENCE_S:.0f} s"
LOG = logging.getLogger(__name__)  # where nobody listens, on stderr, at once
OPENINGS = 20  # tries while others lay out the same tables
DRIVER = "pip install 'pivotwright[shared]' brings that of PostgreSQL"

# What databases say when they turn a client away, in the order in which it is looked for.
CAUSES = (
    (("password", "authentication", "pg_hba", "access denied"), "it refuses this user or password"),
    (("role", "does not exist", "unknown database"), "there is no such database or user"),
    (("unable to open", "no such file", "not a database"), "this file can't be opened as one"),
    (("translate host", "resolve", "getaddrinfo", "name or service"), "its host is not known"),
)


# What drivers (PEP 249), and what SQLAlchemy makes of it, are named while a database is away.
PASSING = {"OperationalError", "InterfaceError", "DisconnectionError", "PendingRollbackError"}


class Patient:
    """A database's storage whose every step is tried again while the database restarts.

    A step is what Optuna asks a storage for.  One that fails may yet have been carried out, if the
    connection broke before the database could say so; each of them may be taken twice.
    """

    def __init__(self, kept: optuna.storages.RDBStorage, named: str) -> None:
        self._kept, self._named = kept, named
        self._steps = optuna.storages.get_storage(kept)

    def __getattr__(self, name: str) -> Any:
        """Step of the storage, taken patiently."""
        step = getattr(self._steps, name)
        return partial(self._patiently, step) if callable(step) else step

    def close(self) -> None:
        """Let go of every connection."""
        with suppress(Exception):  # a broken one can't even be given back
            self._kept.remove_session()
        self._kept.engine.dispose()

    def _patiently(self, step: Callable[..., Any], *given: Any, **named: Any) -> Any:
        end = time.monotonic() + PATIENCE_S
        for tries in count():
            try:
                return step(*given, **named)
            except Exception as fault:
                if not _passes(fault) or time.monotonic() > end:
                    raise
            if tries == 1:  # one that only broke its connections answers the second time
                LOG.warning("pivotwright: warning: %s", AWAY.format(named=self._named))
            self.close()
            time.sleep(random.uniform(0.1, 0.5))
        raise AssertionError("counting does not end")


def _passes(fault: BaseException) -> bool:
    """Whether a fault may pass when the database is back."""
    if isinstance(fault, optuna.exceptions.StorageInternalError):  # says only that there is one
        fault = fault.__cause__ or fault
    return any(kind.__name__ in PASSING for kind in type(fault).__mro__)


def database(url: str) -> optuna.storages.BaseStorage:
    """Open a database, and lay out its tables where there are none.

    Raises
    ------
    PivotwrightError
        Why it can't be used; what the URL keeps to itself is not told.
    """
    named = f"--study {without_credentials(url)}"
    for left in reversed(range(OPENINGS)):
        try:
            kept = optuna.storages.RDBStorage(_with_driver(url))
            return cast(optuna.storages.BaseStorage, Patient(kept, named))
        except (ImportError, NoSuchModuleError, ArgumentError, ValueError) as fault:
            raise PivotwrightError(f"{named}: {_unusable(fault)}") from None
        except (SQLAlchemyError, optuna.exceptions.StorageInternalError, AssertionError) as fault:
            said = str(fault).lower()
            cause = next((why for words, why in CAUSES if any(x in said for x in words)), None)
            others = "exists" in said or "unique" in said or "locked" in said
            if left == 0 or not (others and "does not exist" not in said):
                why = cause or "the database does not answer"
                raise PivotwrightError(f"{named}: {why}") from None
            time.sleep(random.uniform(0.05, 0.3))
    raise AssertionError("the last try returns or raises")


def _unusable(fault: Exception) -> str:
    if isinstance(fault, NoSuchModuleError):
        return "no database or driver goes by that name (postgresql://, mysql://, sqlite:///)"
    if isinstance(fault, ImportError):
        return f"the driver for this database is not installed ({DRIVER})"
    return "is no database URL (postgresql://user@host:port/database)"


def _with_driver(url: str) -> str:
    """Name the driver that comes with the extra, whatever version of SQLAlchemy chooses."""
    scheme, _, rest = url.partition("://")
    return f"postgresql+psycopg://{rest}" if scheme in ("postgres", "postgresql") else url
