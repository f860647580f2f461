"""Files that hold an answer beside the terminal: a page, a table, a drawing; each whole or not."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from optimizer.errors import PivotwrightError, file_name

if TYPE_CHECKING:
    from optimizer.models.suggest import SuggestResult
    from optimizer.reports.pages.parts import Figure, Page, Source

FileOut = Literal["page", "csv", "plot", "drawing", "plan", "sheet"]
HELP: dict[FileOut, tuple[str, str]] = {
    "page": (
        "FILE.html",
        "also write the answer as a page with drawings (nothing to load), to FILE",
    ),
    "csv": ("FILE", "also write its rows as CSV, to FILE"),
    "plot": ("FILE.svg|png", "also write its toe curves as a drawing, to FILE"),
    "drawing": ("FILE.svg|dxf", "also write the pivot made to measure for the machine shop"),
    "sheet": ("FILE.html|txt", "write the list of what to read, to take along, and nothing else"),
    "plan": ("FILE.svg", "also write the floor plan as a drawing, to FILE"),
}
ENDINGS: dict[FileOut, tuple[str, ...]] = {
    "page": (".html", ".htm"),
    "plot": (".svg", ".png"),
    "drawing": (".svg", ".dxf"),
    "plan": (".svg",),
    "sheet": (".html", ".txt"),
}


def add_files_out(parser: argparse.ArgumentParser, kinds: Sequence[FileOut]) -> None:
    """Take an option for each kind of file, and --overwrite."""
    for kind in kinds:
        named, told = HELP[kind]
        parser.add_argument(f"--{kind}", type=Path, metavar=named, help=told)
    parser.add_argument(
        "--overwrite", action="store_true", help="let the files named replace what exists"
    )


def refuse_files_out(options: argparse.Namespace, read: Sequence[Path | None]) -> None:
    """Stop before any work where a file that is asked for could not be written.

    Raises
    ------
    PivotwrightError
        It exists, is one of the files that are `read` or written otherwise, has no folder, or no
        drawing's ending.
    """
    from optimizer.files.whole_file import refuse_file

    used = [path for path in (*read, getattr(options, "write", None)) if path is not None]
    for kind in HELP:
        path = getattr(options, kind, None)
        if path is not None:
            refuse_file(f"--{kind}", path, used, overwrite=options.overwrite)
            used.append(path)
            endings = ENDINGS.get(kind, ("",))
            if not path.name.lower().endswith(endings):
                raise PivotwrightError(f"--{kind} {path}: must end in {' or '.join(endings)}")
            if path.suffix.lower() == ".png":
                from optimizer.reports.pages.plot import refuse_png

                refuse_png()


def write_page(path: Path, page: "Page") -> None:
    """Write a page."""
    from optimizer.reports.pages.parts import page_html

    write_file("page", path, page_html(page))


def write_plot(path: Path, figures: "Sequence[Figure]") -> None:
    """Write figures as one drawing, of the kind that the file's ending names."""
    from optimizer.reports.pages.plot import plot_png, plot_svg

    svg = plot_svg(figures)
    write_file("plot", path, plot_png(svg) if path.suffix.lower() == ".png" else svg)


def write_drawing(path: Path, result: "SuggestResult") -> None:
    """Write the drawing of a custom pivot, of the kind that the file's ending names."""
    from optimizer.reports.pages.custom_sheet import custom_dxf, custom_svg

    made = custom_dxf if path.suffix.lower() == ".dxf" else custom_svg
    write_file("drawing", path, made(result))


def write_file(kind: FileOut | Literal["write"], path: Path, content: str | bytes) -> None:
    """Write what the option of a kind names, and say so on stderr."""
    from optimizer.files.whole_file import write_whole

    write_whole(f"--{kind}", path, content)
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
