"""A car by its measured wheels, and how a file of both is laid out.

What is measured or fitted wheel by wheel stands under ``[left]`` and ``[right]``; everything else
is shared.  Shared places and directions are meant for the left wheel and mirrored for the right
one; there is one rack, so its axis is not.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from msgspec import Struct
from pydantic import ValidationError

from optimizer.errors import Fault
from optimizer.models.base import faults_in, location, quoted, unknown_key
from optimizer.models.case import Case
from optimizer.units import Side, Units

SIDES: tuple[Side, ...] = get_args(Side)
Table = Mapping[str, Any]

OF_ONE_WHEEL = (
    "points",
    "wheel",
    "outer_pivot",
    "shelf",
    "custom_pivot",
    "accuracy",
    "measured",
    "alignment",
    "obstacles",
)
MIRRORED = {"stud_axis", "bolt_axis", "start", "end", "bar_axis", "point", "free_side", "bolt"}
BOTH_WHEELS_IN_ONE = ("beam-axle", "leaf-axle")  # layouts whose points describe the whole axle


class Vehicle(Struct, frozen=True):
    """A car with the wheels that were measured, one or two, left before right.

    Each case holds everything that was said about its wheel, shared tables included.  `name` is
    what the car's faults are listed under: that of its file, where it has one.
    """

    wheels: tuple[Case, ...]
    name: str = "the case"

    @property
    def case(self) -> Case:
        """The first wheel, for all that the wheels share."""
        return self.wheels[0]

    @property
    def both_wheels(self) -> bool:
        """Whether both wheels were measured."""
        return len(self.wheels) > 1


def names_sides(table: Table) -> bool:
    """Whether a case file measures the wheels one by one."""
    return any(side in table for side in SIDES)


def both_sides(table: Table, units: Units) -> tuple[Vehicle | None, list[Fault]]:
    """Validate a table that measures both wheels.

    Parameters
    ----------
    table : mapping
        Of a whole case file.
    units : {"mm", "in"}
        Of its lengths.

    Returns
    -------
    Vehicle or None
        None where there are faults.
    list of Fault
        Every fault, located and in the order as typed; one of a shared table is listed once.
    """
    faults = list(_misplaced(table))
    cases: dict[str, Case] = {}
    for side in SIDES:
        own = table.get(side)
        if not isinstance(own, Mapping) or table.get("layout") in BOTH_WHEELS_IN_ONE:
            continue
        try:
            case = Case.model_validate(_of_wheel(table, side), context={"units": units})
        except ValidationError as error:
            found = [_placed(fault, table, side) for fault in faults_in(error, Case)]
            known = {fault.location for fault in faults}
            faults += [fault for fault in found if fault.location not in known]
        else:
            cases[side] = case
            faults += _other_side(case, side)
    faults.sort(key=lambda fault: _typed_place(fault, table))
    return (None if faults else Vehicle(tuple(cases[side] for side in SIDES))), faults


def _typed_place(fault: Fault, table: Table) -> list[int]:
    """Where a fault's table and its table within that stand in the file, missing ones last."""
    place: list[int] = []
    inside: Any = table
    for key in re.findall(r"\w+", fault.location)[:2]:
        keys = list(inside) if isinstance(inside, Mapping) else []
        place.append(keys.index(key) if key in keys else len(keys))
        inside = inside.get(key) if key in keys else None
    return place


def _misplaced(table: Table) -> Iterator[Fault]:
    """Tables that stand where they can't, and sides that are missing."""
    if "points" in table:
        yield Fault("points", "must be left out where the file names [left] or [right]")
    accuracy = table.get("accuracy")
    if isinstance(accuracy, Mapping) and "covariance_root" in accuracy:
        hint = "(each wheel was surveyed by itself)"
        yield Fault("accuracy.covariance_root", f"must stand under [left] and [right]\n{hint}")
    for of, inside in (("", table), *((f"{side}.", table.get(side)) for side in SIDES)):
        told = inside.get("accuracy") if isinstance(inside, Mapping) else None
        if isinstance(told, Mapping) and "left_right" in told:
            hint = "(what parts them is in their points)"
            message = f"must be left out where both wheels are measured\n{hint}"
            yield Fault(f"{of}accuracy.left_right", message)
    for side in SIDES:
        if side not in table:
            hint = f"(the other wheel has points of its own: [{side}.points])"
            yield Fault(side, f"must be given along with the other side\n{hint}")
        elif table.get("layout") in BOTH_WHEELS_IN_ONE:
            yield Fault(side, f'must be left out: "{table["layout"]}" has both wheels in [points]')
        elif not isinstance(table[side], Mapping):
            yield Fault(side, f"must be a table, got {quoted(table[side])}")
        else:
            for key in table[side]:
                if key in OF_ONE_WHEEL:
                    continue
                shared = "must stand outside: both sides share it"
                known = key in Case.model_fields
                message = shared if known else unknown_key(key, OF_ONE_WHEEL)
                yield Fault(location([side, key]), message)


def _other_side(case: Case, side: Side) -> Iterator[Fault]:
    if (case.points.wheel_center[1] > 0.0) != (side == "left"):
        sign, got = ("above", "below") if side == "left" else ("below", "above")
        yield Fault(
            f"{side}.points",
            f"must be of the {side} wheel, with y {sign} 0, got points with y {got} 0\n"
            "(y is to the left on both sides; is the sign right, or are the sides swapped?)",
        )


def _of_wheel(table: Table, side: Side) -> dict[str, Any]:
    """Make the table of a case with this wheel alone: the shared tables and its own in one."""
    shared = {key: x for key, x in table.items() if key not in (*SIDES, "points")}
    if side == "right":
        shared = _mirrored(shared)
    for key in OF_ONE_WHEEL:
        if key in table[side]:
            shared[key] = _joined(shared.get(key), table[side][key])
    return shared


def _joined(shared: Any, own: Any) -> Any:
    """Own keys before shared ones; own obstacles after the shared ones."""
    if isinstance(shared, Mapping) and isinstance(own, Mapping):
        return {**shared, **own}
    if isinstance(shared, list) and isinstance(own, list):
        return [*shared, *own]
    return own


def _mirrored(typed: Any, key: str = "") -> Any:
    """Mirror every place, direction and room of a table; what can't be one stays as typed."""
    if isinstance(typed, Mapping):
        return {name: _mirrored(x, name) for name, x in typed.items()}
    if not isinstance(typed, list):
        return typed
    if key in MIRRORED and _numbers(typed, 3):
        return [typed[0], 0 - typed[1], typed[2]]
    if key == "y" and _numbers(typed, 2):
        return [0 - typed[1], 0 - typed[0]]
    return [_mirrored(x, key) for x in typed]


def _numbers(typed: Sequence[Any], count: int) -> bool:
    return len(typed) == count and all(
        isinstance(x, int | float) and not isinstance(x, bool) for x in typed
    )


def _placed(fault: Fault, table: Table, side: Side) -> Fault:
    """Locate a fault of one wheel's table where the file has it."""
    key, *inner = re.findall(r"\w+", fault.location) or [""]  # none in a key such as "?!"
    shared, own = table.get(key), table[side].get(key)
    if own is None and key != "points":
        return fault
    if isinstance(shared, Mapping) and isinstance(own, Mapping) and inner and inner[0] not in own:
        return fault
    if isinstance(shared, list) and isinstance(own, list) and inner:
        place = int(inner[0]) - len(shared)
        if place <= 0:
            return fault
        after = fault.location.removeprefix(f"{key}[{inner[0]}]")
        return Fault(f"{side}.{key}[{place}]{after}", fault.message)
    return fault.inside(side)
