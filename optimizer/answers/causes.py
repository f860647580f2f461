"""What stops a kit as causes: each is named once, with the most that it falls short by."""

from collections.abc import Sequence

from optimizer.models.reach import (
    BlockedBy,
    CurveLeft,
    NotAligned,
    NothingShared,
    NotJoined,
    OutOfBand,
    StackMissed,
    WheelStop,
)
from optimizer.models.stops import LimitKind

OF_LIMIT: dict[LimitKind, tuple[BlockedBy, str | None]] = {
    "reach": ("linkage", None),
    "lock": ("linkage", None),
    "tilt": ("tilt", "tilt_deg"),
    "gap": ("gap", "gap_mm"),
    "thread": ("thread", "thread_mm"),
    "stud": ("stud", "stud_factor"),
    "steered": ("steered", "steered_deg"),
    "turn": ("turn", "turn_toe_out_deg"),
    "roll": ("roll", "roll_steer"),
}


def blocked_by(reasons: Sequence[WheelStop | NothingShared]) -> list[BlockedBy]:
    """Name what stops, each once."""
    return list(dict.fromkeys(_cause(fact)[0] for fact in reasons))


def short_by(reasons: Sequence[WheelStop | NothingShared]) -> dict[str, float]:
    """By how much each falls short, the most of each; the key names the unit."""
    short: dict[str, float] = {}
    for fact in reasons:
        _, key, by = _cause(fact)
        if key is not None and by is not None:
            short[key] = max(short.get(key, 0.0), by)
    return short


def _cause(fact: WheelStop | NothingShared) -> tuple[BlockedBy, str | None, float | None]:
    match fact:
        case NotAligned():
            return "alignment", None, None
        case NotJoined():
            return "linkage", "travel_mm", fact.travel_mm
        case StackMissed(kind="step"):
            return "step", "step_mm", fact.by_mm
        case StackMissed():
            return "stack", "stack_mm", fact.by_mm
        case CurveLeft():
            return "curve", "peak_deg", fact.by_deg
        case OutOfBand():
            return "band", "band_deg", abs(fact.verdict.beyond_deg or 0.0)
        case NothingShared():
            return "shared", None, None
        case _:
            return *OF_LIMIT[fact.kind], fact.short
