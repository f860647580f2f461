"""Good case files, and every way of getting one wrong that a test may want to loop over."""

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
GOOD_CASES = {file.stem: file for file in sorted((HERE / "good_cases").glob("*.toml"))}
LARGEST_FILE = 1_000_000


@dataclass(frozen=True)
class BrokenCase:
    """A file that must be refused, and (location, words parted by "|") of each of its faults."""

    path: Path
    faults: list[tuple[str, str]]


def edited(text: str, change: dict[str, str], add: dict[str, str], append: str = "") -> str:
    """A case file's text with values replaced and lines added, by path of key or table."""
    table, counts, lines = "", {}, []
    left = {*change, *add}
    for line in [*add.get("", "").splitlines(), *text.splitlines()]:
        if head := re.match(r"(\[+)([\w.]+)\]", line):
            table = head[2]
            if head[1] == "[[":
                counts[table] = counts.get(table, 0) + 1
                table = f"{table}[{counts[table]}]"
            lines += [line, *add.get(table, "").splitlines()]
            left.discard(table)
            continue
        key = re.match(r"\w*", line)[0]
        path = f"{table}.{key}" if table else key
        if path not in change:
            lines.append(line)
        elif change[path]:
            lines.append(f"{key} = {change[path]}")
        left.discard(path)
    assert not left, f"no such key or table: {left}"
    return "\n".join([*lines, append, ""])


def _text_of(broken: dict[str, Any]) -> str:
    text = broken.get("text")
    if text is None:
        good = GOOD_CASES[broken.get("of", "strut")].read_text(encoding="utf-8")
        text = edited(
            good, broken.get("change", {}), broken.get("add", {}), broken.get("append", "")
        )
    return re.sub(r"(.)\{(\d{3,})\}", lambda many: many[1] * int(many[2]), text)


def _with_text(broken: dict[str, Any]) -> Callable[[Path], None]:
    return lambda path: path.write_text(_text_of(broken), encoding="utf-8")


def _with_bytes(content: bytes) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(content)


UNREADABLE: dict[str, tuple[Callable[[Path], object], str]] = {
    "a file that is not there": (lambda path: None, "does not exist"),
    "a file whose name is nearly right": (
        lambda path: path.with_name("coupe1.toml").write_text(""),
        "does not exist; did you mean|coupe1.toml",
    ),
    "a file in a folder that is not there": (
        lambda path: path.parent.rmdir(),
        "does not exist",
    ),
    "a folder": (lambda path: path.mkdir(), "is a folder"),
    "a picture": (_with_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"), "is not a text file"),
    "text in UTF-16": (_with_bytes("format = 1".encode("utf-16")), "is not a text file"),
    "text in Latin-1": (
        _with_bytes('name = "Coup\xe9"'.encode("latin-1")),
        "is not UTF-8 text at byte 13",
    ),
    "a file of megabytes": (_with_bytes(b"#" * (LARGEST_FILE + 1)), "is too large"),
    "a file in a file": (
        lambda path: (path.parent.rmdir(), path.parent.write_text("")),
        "can't be read: Not a directory",
    ),
}

with (HERE / "broken_cases.toml").open("rb") as _file:
    BROKEN = {
        broken["about"]: (_with_text(broken), [tuple(fault) for fault in broken["faults"]])
        for broken in tomllib.load(_file)["case"]
    }
BROKEN |= {about: (make, [("", words)]) for about, (make, words) in UNREADABLE.items()}
