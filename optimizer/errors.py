"""What the user did wrong, said so that the user can put it right."""

from collections.abc import Sequence
from os import PathLike
from typing import NamedTuple

from optimizer.printable import printable, without_credentials

LISTED = 20  # faults of a file that its message lists; the others are counted


class PivotwrightError(Exception):
    """A user's mistake; its text is the whole message to print, and the exit code is 2."""


class Fault(NamedTuple):
    """One thing that is wrong in a file.

    `location` is the key as typed, list items counted from 1 (``shelf.shims[2].count``); it is
    empty where the file as a whole is at fault, and `message` then reads on from the file's name.
    Further lines of `message` say what to try next.
    """

    location: str
    message: str

    def inside(self, outer: str) -> "Fault":
        """Locate the same fault from a table further out."""
        dot = "." if outer and self.location and not self.location.startswith("[") else ""
        return Fault(f"{outer}{dot}{self.location}", self.message)


class CaseFileError(PivotwrightError):
    """A file that can't be read or that says something impossible; holds all of its faults."""

    def __init__(self, path: str | PathLike[str], faults: Sequence[Fault]) -> None:
        self.path = path
        self.faults = tuple(faults)
        super().__init__(_listing(file_name(path), self.faults))


def file_name(path: str | PathLike[str]) -> str:
    """Name of a file as a message gives it; of `-`, what is read in its place."""
    return "standard input" if str(path) == "-" else printable(str(path))


def _listing(path: str, faults: Sequence[Fault]) -> str:
    whole = [f"{path} {fault.message}" for fault in faults if not fault.location]
    located = [fault for fault in faults if fault.location]
    if not located:
        return "\n".join(whole)
    width = 2 + max(len(fault.location) for fault in located[:LISTED])
    lines = [f"{path} has {len(located)} fault{'' if len(located) == 1 else 's'}:"]
    for fault in located[:LISTED]:
        first, *rest = fault.message.splitlines()
        lines.append(f"  {fault.location:<{width}}{first}")
        lines += [f"  {'':<{width}}{line}" for line in rest]
    if len(located) > LISTED:
        lines.append(f"  and {len(located) - LISTED} more")
    return "\n".join(whole + lines)


class StudyNotKept(UserWarning):
    """A study's store failed while the search was running; the answer stands without it."""

    def __init__(self, place: str, fault: BaseException) -> None:
        while fault.__context__ is not None:  # what follows from the first fault says nothing
            fault = fault.__context__
        said = fault.strerror if isinstance(fault, OSError) else None
        super().__init__(
            f"--study {without_credentials(place)}: the record could not be kept "
            f"({said or type(fault).__name__}); the answer was searched and proved without it"
        )
