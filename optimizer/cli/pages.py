"""`--page FILE`: an answer as a page, written once all of it is there."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.errors import PivotwrightError

if TYPE_CHECKING:
    from optimizer.reports.pages.parts import Page, Source


def add_page(parser: argparse.ArgumentParser) -> None:
    """Take --page."""
    parser.add_argument(
        "--page",
        type=Path,
        metavar="FILE",
        help="also write the answer as a page with drawings (HTML, nothing to load), to FILE",
    )


def write_page(path: Path, page: "Page") -> None:
    """Write a page, and say so on stderr."""
    from optimizer.reports.pages.parts import page_html

    write_text(path, page_html(page))


def write_text(path: Path, text: str) -> None:
    """Write a file that is new, or replace one, whole or not at all; said on stderr."""
    draft = path.with_name(f"{path.name}.part")
    try:
        draft.write_text(text, encoding="utf-8")
        draft.replace(path)
    except OSError as fault:
        raise PivotwrightError(f"{path} can't be written: {fault.strerror}") from fault
    sys.stderr.write(f"Written: {path}\n")


def source_of(paths: Sequence[Path]) -> "Source":
    """Where an answer comes from: version of the program and digest of its files."""
    from hashlib import sha256
    from importlib.metadata import version

    from optimizer.reports.pages.parts import Source

    digest = sha256(b"".join(path.read_bytes() for path in paths)).hexdigest()
    return Source([path.as_posix() for path in paths], version("pivotwright"), digest[:16])
