"""What `reach` answers; every length in millimeters and every angle in degrees."""

from typing import Literal

from pydantic import Field

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer
from optimizer.models.subject import Subject
from optimizer.models.suggest import KitFacts

BlockedBy = Literal[
    "alignment", "linkage", "stack", "step", "curve", "tilt", "gap", "thread", "stud"
]


class NeededSetting(Answer):
    """The setting with the smallest peak at a ride height, whatever the kit can build.

    Of several that the rack spacers and ball-joint drops make, the one that asks least of the kit.
    """

    outer_drop_mm: float
    rack_raise_mm: float
    ball_joint_drop_mm: float
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    peak_toe_change_deg: float


class ReachRow(Answer):
    """One kit at one ride height.

    The setting is the one with the smallest peak that keeps every limit, None where nothing does.
    `blocked_by` and `short_by` say what stops the kit and by how much, `reasons` in words; all are
    empty where it is reachable.  Camber and caster are those at ride height, None where the arms
    can't be joined there; `alignment` is what is moved for those that the case asks for, set anew
    at each height.
    """

    lowered_by_mm: float
    kit: str
    reachable: bool
    outer_drop_mm: float | None = None
    rack_raise_mm: float | None = None
    ball_joint_drop_mm: float | None = None
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    stack_mm: list[float] = Field(default_factory=list)
    peak_toe_change_deg: float | None = None
    tie_rod_length_mm: float | None = None
    tie_rod_length_change_mm: float | None = None
    camber_deg: float | None
    caster_deg: float | None
    alignment: AlignmentAnswer | None = None
    blocked_by: list[BlockedBy]
    short_by: dict[str, float]
    reasons: list[str]
    needed: NeededSetting | None


class KitReach(KitFacts):
    """A kit, and the lowest of the ride heights at which it meets the tolerance, if any.

    The seat is None for the case's own hardware.
    """

    lowest_mm: float | None
    reachable_heights: int


class ReachResult(Answer):
    """Which ride heights can be met, by which kit: the contract of `reach --json`."""

    format: Literal[1] = 1
    subject: Subject
    tolerance_deg: float
    currency: str | None
    kits: list[KitReach]
    heights: list[ReachRow]
