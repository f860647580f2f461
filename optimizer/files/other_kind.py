"""A file of one kind that was named in the place of another."""

from collections.abc import Mapping
from os import PathLike
from typing import Any, Literal

from optimizer.errors import CaseFileError, Fault

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
