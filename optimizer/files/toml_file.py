"""A TOML file as a table, or a clear sentence about why it is none, or of another kind."""

import re
import sys
import tomllib
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from os import PathLike
from pathlib import Path
from typing import Any, Literal, TextIO

from optimizer.errors import CaseFileError, Fault, file_name
from optimizer.units import FRACTION, in_decimals

LARGEST_FILE = 1_000_000  # bytes; a case takes about two thousand
NEAR = 0.8  # of the letters of a name, so that a slip of one or two is asked about and no other car
REPEATED = r"cannot declare \('(?P<key>[\w-]+)',\) twice"
CURLY = re.compile(r"[\u2018\u2019\u201c-\u201e]")  # quotes as a word processor makes them
WHOLE_LINE = (CURLY,)
SLIPS = (
    (CURLY, 'quotes must be the straight ones, "'),
    (re.compile(r"(?<![\w.])\.\d+"), "a number begins with a digit: {0} as 0{0}"),
    (re.compile(r"\d,0\d+"), "decimals take a point, not a comma"),
    (re.compile(r"^\d+,\d+$"), "decimals take a point, not a comma"),
    (re.compile(r"^\("), "a point stands in square brackets: [x, y, z]"),
    (
        re.compile(r"""\d\s*(?:"|mm|inch|in\b|deg)"""),
        "numbers stand without a unit; units = says it once for the file",
    ),
    (
        re.compile(r"^(?!true|false|inf|nan)[a-z][\w-]*$", re.IGNORECASE),
        'text stands in quotes: "{0}"',
    ),
)
HINTS = {  # what usually lies behind what the reader of TOML says
    "overwrite a value": "\n(a key stands twice in one table: is a header such as [ride] lost?)",
    "Expected newline": "\n(a number has a point and no unit, 40.0; one key on a line)",
    "Invalid value": "\n(text is in quotes; a number has a point and no unit, 40.0)",
}
CELLS = re.compile(r"\s*[\w .\"-]+[,;\t][^=\n]*\n")  # a first line of cells, as of a CSV file
IS_A_TABLE = (
    "is a table of cells (CSV), where TOML is needed\n(pivotwright new prints a starter of each "
    "kind; readings_csv names such a table of readings, new --points one of points)"
)
FileKind = Literal["survey", "case", "kits", "readings"]
TELLS: dict[FileKind, tuple[set[str], ...]] = {  # keys of which one set tells the kind
    "survey": ({"heights", "marks"},),
    "case": ({"layout"},),
    "kits": ({"kits"},),
    "readings": ({"readings"}, {"readings_csv"}),
}
NAMED: dict[FileKind, str] = {
    "survey": "is a survey; pivotwright survey FILE --write CASE makes a case of it",
    "case": "is a case file; --kits names a file of kits",
    "kits": "is a kits file; name a case, and this file after --kits",
    "readings": "is a readings file; write: pivotwright gauge CASE READINGS",
}


def slip_hint(line: str, complaint: str) -> str:
    """What to try, from the line and what its reader complained of; empty where nothing is seen."""
    if twice := re.match(REPEATED, complaint, re.IGNORECASE):
        return f"\n(the header [{twice['key']}] stands twice: put its keys under one)"
    typed = re.sub(r'"[^"]*("|$)', '""', line).partition("#")[0]
    value = (typed.partition("=")[2] or typed).strip()
    if (found := FRACTION.search(typed)) and (decimals := in_decimals(found[0])):
        return f"\n(a fraction is written in decimals: {found[0]} as {decimals})"
    for slip, hint in SLIPS:
        if found := slip.search(typed if slip in WHOLE_LINE else value):
            return f"\n({hint.format(found[0].strip())})"
    return ""


def file_text(path: Path, *, largest: int = LARGEST_FILE) -> str:
    """Read a text file of up to so many bytes in UTF-8, or `-`; CaseFileError where it is none."""
    try:
        content = _piped(sys.stdin) if str(path) == "-" else _content(path, largest)
        if len(content) > largest:
            size = f"more than {largest / 1e6:.0f} MB"
            raise _unreadable(path, f"is too large for a file of this kind ({size})")
        if b"\0" in content:
            raise _unreadable(path, "is not a text file")
        return content.decode("utf-8-sig")
    except FileNotFoundError:
        raise _unreadable(path, f"does not exist{_near_name(path)}") from None
    except IsADirectoryError:
        raise _unreadable(path, "is a folder; name a file in it") from None
    except UnicodeDecodeError as error:
        hint = "(save it as UTF-8 in the editor)"
        raise _unreadable(path, f"is not UTF-8 text at byte {error.start + 1} {hint}") from None
    except OSError as error:
        raise _unreadable(path, f"can't be read: {error.strerror}") from None
    except ValueError:  # a zero byte within the name
        raise _unreadable(path, "is not the name of a file") from None


def _content(path: Path, largest: int) -> bytes:
    with path.open("rb") as file:
        return file.read(largest + 1)


@cache
def _piped(stream: TextIO) -> bytes:
    """What is piped into the program, kept for whoever asks again."""
    return stream.buffer.read(LARGEST_FILE + 1)


def table_from_text(text: str, name: str, *, hint: str = "") -> dict[str, Any]:
    """Parse TOML; CaseFileError with line and column where it isn't TOML, or where it is empty.

    `hint` says where a file that is empty may start from.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseFileError(name, [_syntax_fault(str(error), text)]) from None
    except (ValueError, RecursionError):
        message = "holds a number too long, or lists too deep, to be read"
        raise CaseFileError(name, [Fault("", message)]) from None
    if not table:
        raise CaseFileError(name, [Fault("", f"is empty{hint}")])
    return table


def _unreadable(path: Path, message: str) -> CaseFileError:
    return CaseFileError(path, [Fault("", message)])


def _syntax_fault(message: str, text: str) -> Fault:
    if CELLS.match(text):
        return Fault("", IS_A_TABLE)
    what, _, where = message.removesuffix(")").rpartition(" (at ")
    where = where.replace("end of document", "end of file")
    number = re.match(r"line (\d+)", where)
    line = "".join(text.splitlines()[int(number[1]) - 1 :][:1]) if number else ""
    hint = slip_hint(line, what) or next((hint for said, hint in HINTS.items() if said in what), "")
    return Fault(where, f"is not TOML: {what[:1].lower()}{what[1:]}{hint}")


def _near_name(path: Path) -> str:
    """Ask whether a file of nearly that name is meant, whatever it ends in."""
    try:
        files = [entry for entry in path.parent.iterdir() if entry.is_file()]
    except OSError:
        return ""
    files.sort(key=lambda file: (file.suffix == path.suffix, file.name))
    names = {file.stem: file.name for file in files}
    near = get_close_matches(path.stem, names, n=1, cutoff=NEAR)
    return f"; did you mean {file_name(path.with_name(names[near[0]]))}?" if near else ""


def refuse_other_kind(
    table: Mapping[str, Any], wanted: FileKind, name: str | PathLike[str]
) -> None:
    """Stop where a file holds what another kind does, and not what the wanted kind must.

    Raises
    ------
    CaseFileError
        Says which kind it is, and which is needed.
    """
    found = [kind for kind, told in TELLS.items() if any(keys <= set(table) for keys in told)]
    if found and found[0] != wanted and (wanted not in found or found[0] == "survey"):
        raise CaseFileError(name, [Fault("", NAMED[found[0]])])
