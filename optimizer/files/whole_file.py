"""Files that options name: refused before any work, then written whole or not at all."""

import shutil
from collections.abc import Sequence
from contextlib import suppress
from os.path import realpath
from pathlib import Path

from optimizer.errors import PivotwrightError


def refuse_file(option: str, path: Path, readings: Sequence[Path], *, overwrite: bool) -> None:
    """Stop before any work where a file that an option names could not be written.

    Raises
    ------
    PivotwrightError
        The file exists or holds the readings, or its folder does not exist.
    """
    if realpath(path) in map(realpath, readings):
        raise PivotwrightError(f"{option} {path}: holds the readings; name another file")
    if (path.exists() and not path.is_file()) or not path.absolute().parent.is_dir():
        raise PivotwrightError(f"{option} {path}: must be a file in a folder that exists")
    if path.exists() and not overwrite:
        raise PivotwrightError(f"{option} {path}: exists already; add --overwrite to replace it")


def write_whole(option: str, path: Path, text: str) -> None:
    """Write the file that an option names, all of it or nothing.

    Raises
    ------
    PivotwrightError
        The system does not let it; what stood there before still does.
    """
    target = Path(realpath(path))
    beside = target.with_name(f".{target.name}.part")
    try:
        beside.write_text(text, encoding="utf-8")
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
    except OSError as fault:
        with suppress(OSError):
            beside.unlink()
        raise PivotwrightError(f"{option} {path}: {fault.strerror}") from fault
