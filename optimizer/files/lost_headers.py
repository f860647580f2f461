"""Keys that stand under the wrong header of a case, mostly because their own was lost."""

from collections.abc import Iterable, Mapping
from typing import Any, get_args

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.case import Case
from optimizer.models.points import POINTS_OF_LAYOUT

NOT_KNOWN = "is not a known key"
NO_TABLE = "must be a table"


def headers_first(table: Mapping[str, Any], faults: list[Fault]) -> list[Fault]:
    """In the place of many keys that are not known, the header that their table has lost.

    A key that another table of the case knows is said to belong there; where that table is not in
    the file at all, one fault says so for all of its keys, and that the table is missing goes
    without saying.
    """
    strays = {
        fault: place
        for fault in faults
        if (place := _place(fault)) is not None and not _meant_otherwise(fault, table)
    }
    homes = _homes(strays.values(), table)
    lost: dict[str, str] = {}
    left = []
    for fault in faults:
        home = homes.get(strays[fault]) if fault in strays else None
        if home is None:
            left.append(fault)
        elif _stands(home, table):
            left.append(Fault(fault.location, f"belongs under the header [{home}]"))
        else:
            lost.setdefault(home, strays[fault][1])
    kept = [fault for fault in left if fault.location not in lost]
    return [*(_lost(home, first) for home, first in lost.items()), *kept]


def _place(fault: Fault) -> tuple[str, str] | None:
    """Table and key of a fault about a key that does not belong there; no table is ""."""
    *outer, key = fault.location.split(".")
    odd = NOT_KNOWN in fault.message or (not outer and fault.message.startswith(NO_TABLE))
    here = "".join(outer)
    within = len(outer) < 2 and here in {"", *Case.model_fields} and "[" not in key
    return (here, key) if odd and within else None


def _meant_otherwise(fault: Fault, table: Mapping[str, Any]) -> bool:
    """Whether a key is a table's own name, in the place of which something else was typed."""
    return NO_TABLE in fault.message and not isinstance(table.get(fault.location), list)


def _homes(
    strays: Iterable[tuple[str, str]], table: Mapping[str, Any]
) -> dict[tuple[str, str], str]:
    """The table that each key belongs to: of several the one that most keys beside it fit."""
    known, found = _keys_of_tables(table), dict[tuple[str, str], str]()
    for here in {outer for outer, _ in strays}:
        keys = {key for outer, key in strays if outer == here}
        while fitting := {name: of for name, of in known.items() if name != here and of & keys}:
            home = max(
                fitting, key=lambda name: (len(fitting[name] & keys), not _stands(name, table))
            )
            found |= {(here, key): home for key in fitting[home] & keys}
            keys -= fitting[home]
    return found


def _keys_of_tables(table: Mapping[str, Any]) -> dict[str, set[str]]:
    known = {}
    for name, field in Case.model_fields.items():
        models = [field.annotation, *get_args(field.annotation)]
        if name == "points":
            models = [
                of for layout, of in POINTS_OF_LAYOUT.items() if layout == table.get("layout")
            ]
        known[name] = {
            key
            for model in models
            if isinstance(model, type) and issubclass(model, FrozenModel)
            for key in model.model_fields
        }
    return known


def _stands(name: str, table: Mapping[str, Any]) -> bool:
    return isinstance(table.get(name), Mapping)


def _lost(home: str, first: str) -> Fault:
    where = f"write [{home}] on a line of its own above {first}"
    return Fault(home, f"must be given\n(its header seems lost: {where})")
