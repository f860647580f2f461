"""What stops a setting, and what comes nearest to stopping it: limits with their numbers."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.units import Side

LimitKind = Literal["reach", "lock", "tilt", "gap", "thread", "stud"]


class AtLimit(Fact):
    """One limit of a setting at its worst place.

    `name` is the joint, the parts, or what the stud reaches; `value` and `limit` are in deg
    ("tilt"), mm ("gap", "thread", "lock") or times the stated force ("stud"), None where a kind
    has none.
    `travel_mm` is from ride height, bump positive, `rack_travel_mm` to the left of the car.
    """

    kind: LimitKind
    side: Side
    name: str
    value: float | None
    limit: float | None
    travel_mm: float
    rack_travel_mm: float


class Stop(AtLimit):
    """A limit that a setting breaks, by `short` in the unit of its value."""

    short: float


class Tightest(AtLimit):
    """The joint or the gap that comes nearest to its limit."""
