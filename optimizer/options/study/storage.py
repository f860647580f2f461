"""Where a study is kept: in memory, in a file that resumes, or in a shared database."""

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import optuna
from optuna.storages.journal import JournalFileBackend, JournalFileOpenLock
from optuna.storages.journal._file import BaseJournalFileLock

from optimizer.errors import PivotwrightError, printable

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]


def file_lock(path: Path) -> BaseJournalFileLock:
    """Lock for a study's file; where the system has none that ends with its holder, a lock file."""
    return JournalFileOpenLock(str(path)) if fcntl is None else SystemLock(path)


class SystemLock(BaseJournalFileLock):
    """A lock on the file itself, which leaves nothing behind."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._held: int | None = None

    def acquire(self) -> bool:
        """Wait for the lock; then cut off what another holder could not write to its end."""
        self._held = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o666)
        fcntl.flock(self._held, fcntl.LOCK_EX)
        _cut_unfinished_line(self._held)
        return True

    def release(self) -> None:
        """Let go."""
        if self._held is not None:
            os.close(self._held)
            self._held = None


def _cut_unfinished_line(file: int) -> None:
    end = os.fstat(file).st_size
    if end == 0 or os.pread(file, 1, end - 1) == b"\n":
        return
    whole = os.pread(file, end, 0).rfind(b"\n") + 1
    os.ftruncate(file, whole)


@contextmanager
def opened_storage(place: str | None) -> Iterator[optuna.storages.BaseStorage]:
    """The storage that a user names, for as long as it is needed; see `study_storage`."""
    store = study_storage(place)
    try:
        yield store
    finally:
        if hasattr(store, "close"):  # a database's
            store.close()


def study_storage(place: str | None) -> optuna.storages.BaseStorage:
    """Open the storage that a user names.

    Parameters
    ----------
    place : str or None
        None for memory; a database URL ("postgresql://…"); anything else is a file, made if it
        isn't there.

    Returns
    -------
    optuna.storages.BaseStorage
        The open storage.

    Raises
    ------
    PivotwrightError
        The file is not a study's, its folder is missing, or the database can't be used.
    """
    if place is None:
        return optuna.storages.InMemoryStorage()
    if "://" in place:
        from optimizer.options.study.database import database  # SQLAlchemy is slow to import

        return database(place)
    path, named = Path(place), f"--study {printable(place)}"
    if "\0" in place or (path.exists() and not path.is_file()) or not _folder(path).is_dir():
        raise PivotwrightError(f"{named}: must be a file in a folder that exists")
    try:
        _refuse_foreign(path)
        lock = file_lock(path)
        return optuna.storages.JournalStorage(JournalFileBackend(str(path), lock_obj=lock))
    except OSError as fault:
        raise PivotwrightError(f"{named}: {fault.strerror}") from fault
    except Exception as fault:  # whatever stumbles over lines that no study has written
        raise PivotwrightError(f"{named}: this file is not a study's record") from fault


def _folder(path: Path) -> Path:
    return path.absolute().parent


def _refuse_foreign(path: Path) -> None:
    """ValueError for a file that is no study's; its last line may not have been written out."""
    if not path.exists():
        return
    lines = path.read_bytes().splitlines(keepends=True)
    unfinished = len(lines) > 1 and not lines[-1].endswith(b"\n")
    for line in lines[:-1] if unfinished else lines:
        entry = json.loads(line)
        if not isinstance(entry, dict) or not {"op_code", "worker_id"} <= entry.keys():
            raise ValueError("a line that no study has written")
