"""Where a study is kept: in memory, in a file that resumes, or in a shared database."""

import json
import os
from pathlib import Path

import optuna
from optuna.storages.journal import JournalFileBackend

from optimizer.errors import PivotwrightError


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
        The file is not a study's, its folder is missing, or the database does not answer.
    """
    if place is None:
        return optuna.storages.InMemoryStorage()
    if "://" in place:
        return _database(place)
    path = Path(place)
    odd = path.exists() and not path.is_file()
    if odd or not path.absolute().parent.is_dir():
        raise PivotwrightError(f"--study {place}: must be a file in a folder that exists")
    try:
        _mend_record(path)
        return optuna.storages.JournalStorage(JournalFileBackend(str(path)))
    except ValueError as fault:
        raise PivotwrightError(f"--study {place}: this file is not a study's record") from fault
    except OSError as fault:
        raise PivotwrightError(f"--study {place}: {fault.strerror}") from fault


def _mend_record(path: Path) -> None:
    """Cut off a last line that was not written to its end; ValueError for any other file."""
    if not path.exists():
        return
    lines = path.read_bytes().splitlines(keepends=True)
    unfinished = len(lines) > 1 and not lines[-1].endswith(b"\n")
    for line in lines[:-1] if unfinished else lines:
        entry = json.loads(line)
        if not isinstance(entry, dict) or not {"op_code", "worker_id"} <= entry.keys():
            raise ValueError("a line that no study has written")
    if unfinished:
        os.truncate(path, sum(map(len, lines[:-1])))


def _database(url: str) -> optuna.storages.BaseStorage:
    from sqlalchemy.exc import SQLAlchemyError  # slow to import, and seldom needed

    try:
        return optuna.storages.RDBStorage(url)
    except ImportError as fault:
        raise PivotwrightError(
            f"--study {url}: the driver for this database is not installed"
        ) from fault
    except (SQLAlchemyError, ValueError) as fault:
        raise PivotwrightError(f"--study {url}: the database does not answer") from fault
