"""`--page FILE`: an answer as a page, written once all of it is there."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.errors import file_name

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
    """Write a page that is new, or replace one, whole or not at all; said on stderr."""
    from optimizer.files.whole_file import write_whole
    from optimizer.reports.pages.parts import page_html

    write_whole("--page", path, page_html(page))
    sys.stderr.write(f"Written: {path}\n")


def source_of(*paths: Path | None) -> "Source":
    """Where an answer comes from: version of the program and digest of the files that there are."""
    from hashlib import sha256
    from importlib.metadata import version

    from optimizer.files.toml_file import file_text
    from optimizer.reports.pages.parts import Source

    read = [path for path in paths if path is not None]
    digest = sha256("".join(map(file_text, read)).encode()).hexdigest()
    return Source([file_name(path) for path in read], version("pivotwright"), digest[:16])
