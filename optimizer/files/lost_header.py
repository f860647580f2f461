"""A table of a case file whose header is lost: its keys then stand in the table before it."""

from functools import cache
from typing import Any, get_args

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.case import Case

FEWEST = 2  # keys of a table that must stand elsewhere to tell that they are its own


def lost_header(table: dict[str, Any]) -> Fault | None:
    """The first table that is missing while its keys stand in another one, None where none is."""
    homes = _keys_of_tables()
    holders = {"": table} | {
        name: table[name] for name in homes if isinstance(table.get(name), dict)
    }
    for missing, own in homes.items():
        if missing in table:
            continue
        for holder, held in holders.items():
            known = set(Case.model_fields) if not holder else homes[holder]
            strays = [key for key in held if key in own and key not in known]
            if missing == "points" and not holder:  # a ball joint is a point and a table
                strays = [key for key in held if key in own and isinstance(held[key], list)]
            if len(strays) >= FEWEST:
                return Fault(
                    missing,
                    f"must be given\n(its header seems lost: write [{missing}] on a line of its "
                    f"own above {strays[0]})",
                )
    return None


@cache
def _keys_of_tables() -> dict[str, set[str]]:
    """Keys of every table; those of `points` whatever the layout."""
    found = {}
    for name, field in Case.model_fields.items():
        kinds = [field.annotation, *get_args(field.annotation)]
        models = [x for x in kinds if isinstance(x, type) and issubclass(x, FrozenModel)]
        keys = {key for one in models for key in one.model_fields}
        if keys:
            found[name] = keys
    return found
