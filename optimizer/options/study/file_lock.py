"""The lock of a study's file: the system lets go of it when its holder ends, however it ends."""

import os
from pathlib import Path

from optuna.storages.journal import JournalFileOpenLock
from optuna.storages.journal._file import BaseJournalFileLock

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
