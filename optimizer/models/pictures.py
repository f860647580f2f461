"""What pages draw of a wheel: curves, the linkage, limits over travel and lock, settings to try."""

from typing import Literal

from optimizer.models.answer import Answer
from optimizer.models.quantities import Triple
from optimizer.models.setting import Fitted
from optimizer.units import Side

BarKind = Literal[
    "rod",
    "arm",
    "link",
    "strut",
    "spring",
    "shackle",
    "upright",
    "steering-arm",
    "axle",
    "cross-rod",
    "stack",
]


class DrawnCurve(Answer):
    """Toe change of one setting over the travel, beyond what is wanted; None out of reach.

    `rank` is its place in the ranking, None of the car as it is.
    """

    rank: int | None
    fitted: Fitted
    toe_change_deg: list[float | None]


class TapeBand(Answer):
    """Toe changes between which nine cars in ten lie, of those that the tape may have meant.

    At every height by itself, five in a hundred below and five above.
    """

    travel_mm: list[float]
    low_deg: list[float]
    high_deg: list[float]


class ToeOverTravel(Answer):
    """Toe change from ride height against wheel travel, toe-in positive; None out of reach."""

    travel_mm: list[float]
    toe_change_deg: list[float | None]


class Bar(Answer):
    """A straight part between two points of the car, x forward, y to the left, z up. [mm]."""

    kind: BarKind
    start_mm: Triple
    end_mm: Triple


class LinkagePose(Answer):
    """Where the parts of a wheel are at one wheel travel; `spin` points outboard along its axle."""

    travel_mm: float
    wheel_center_mm: Triple
    spin: Triple
    bars: list[Bar]


class LinkagePoses(Answer):
    """A wheel's parts at droop, ride height and bump, as far as the linkage follows."""

    tire_radius_mm: float
    poses: list[LinkagePose]


class LimitMap(Answer):
    """What is watched, over wheel travel (rows) and rack travel (columns); None where no pose is.

    Tilt in degrees, whose `limit` is the greatest allowed; gap in mm, whose limit is the least that
    is wanted: the nearest of all parts at each place.
    """

    kind: Literal["tilt", "gap"]
    name: str
    limit: float
    travel_mm: list[float]
    rack_travel_mm: list[float]
    values: list[list[float | None]]


class TriedSetting(Answer):
    """One setting that can be built, solved exactly.

    Its margins are the smallest over travel and lock, None where the case states no such limit.
    """

    outer_drop_mm: float
    rack_raise_mm: float
    peak_toe_change_deg: float | None
    toe_change_deg: list[float | None]
    tilt_margin_deg: float | None
    clearance_mm: float | None
    fits: bool


class WheelViews(Answer):
    """A wheel's linkage with something fitted, and what is left of its limits.

    `tape` is where its toe change may lie, `toe` the likeliest; None where that was not looked at.
    """

    side: Side
    linkage: LinkagePoses
    maps: list[LimitMap]
    tape: TapeBand | None = None
    toe: ToeOverTravel | None = None


class WheelPictures(WheelViews):
    """All that is drawn of one wheel; the first of `curves` is of the car as it is.

    `settings` hold every pair of the stacks and rack heights shown, all that can be built where
    those are few.
    """

    travel_mm: list[float]
    tolerance_deg: float
    curves: list[DrawnCurve]
    settings: list[TriedSetting]
