"""Files that options name: refused before any work, then written whole or not at all."""

import shutil
from collections.abc import Sequence
from contextlib import suppress
from os.path import realpath
from pathlib import Path

from optimizer.errors import PivotwrightError


def refuse_file(option: str, path: Path, used: Sequence[Path], *, overwrite: bool) -> None:
    """Stop before any work where a file that an option names could not be written.

    Raises
    ------
    PivotwrightError
        The file exists or is one of those that are `used` otherwise, or its folder does not exist.
    """
    if realpath(path) in map(realpath, used):
        used_too = "is read by this command or written by another option; name another file"
        raise PivotwrightError(f"{option} {path}: {used_too}")
    if (path.exists() and not path.is_file()) or not path.absolute().parent.is_dir():
        raise PivotwrightError(f"{option} {path}: must be a file in a folder that exists")
    if path.exists() and not overwrite:
        raise PivotwrightError(f"{option} {path}: exists already; add --overwrite to replace it")


def write_whole(option: str, path: Path, content: str | bytes) -> None:
    """Write the file that an option names, all of it or nothing.

    Raises
    ------
    PivotwrightError
        The system does not let it; what stood there before still does.
    """
    target = Path(realpath(path))
    beside = target.with_name(f".{target.name}.part")
    try:
        beside.write_bytes(content.encode() if isinstance(content, str) else content)
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
    except OSError as fault:
        with suppress(OSError):
            beside.unlink()
        raise PivotwrightError(f"{option} {path}: {fault.strerror}") from fault
