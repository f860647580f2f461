"""What stops a setting, and what comes nearest to stopping it: limits with their numbers."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.units import Side

DeadCenterKind = Literal["rod-arm", "cross-rod", "inner", "wheel"]
# What has no pose: the suspension whatever the rod does, or the rod.
Ends = Literal["arms", "rod", "line"]
LimitKind = Literal[
    "reach", "lock", "tilt", "gap", "thread", "stud", "chance", "steered", "turn", "roll"
]


class AtPlace(Fact):
    """Something that is found at one place of travel x lock, at one wheel. [mm].

    `travel_mm` is from ride height, bump positive, `rack_travel_mm` to the left of the car.
    """

    side: Side
    travel_mm: float
    rack_travel_mm: float


class DeadCenter(AtPlace):
    """How near a setting comes to a dead center, where a push moves nothing. [deg].

    "rod-arm" and "cross-rod" are the angle between a rod and one line with its arm, "inner" that of
    the rod from square to the rack's way, "wheel" that of the wheel center's path from level.
    Below `least_deg` a warning is given.
    """

    kind: DeadCenterKind
    angle_deg: float
    least_deg: float


class AtLimit(AtPlace):
    """One limit of a setting at its worst place.

    `name` is the joint, the parts, or what the stud reaches; `value` and `limit` are in deg
    ("tilt", "steered", "turn"), deg per deg ("roll"), mm ("gap", "thread", "lock"), times the
    stated force ("stud") or the share of the possible cars that keep every limit ("chance"), None
    where a kind has none.
    """

    kind: LimitKind
    name: str
    value: float | None
    limit: float | None


class Stop(AtLimit):
    """A limit that a setting breaks, by `short` in the unit of its value."""

    short: float


class Tightest(AtLimit):
    """The joint or the gap that comes nearest to its limit."""
