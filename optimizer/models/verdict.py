"""Where an answer stands: what to fit, where it goes, whether that meets the tolerance."""

from typing import Literal

from pydantic import Field

from optimizer.models.answer import Fact
from optimizer.models.setting import BandVerdict, Fitted
from optimizer.models.stops import Stop

WayOutKind = Literal["listed", "shim", "stack", "limit", "rod", "custom"]


class WayOut(Fact):
    """What would bring the peak down where nothing that fits meets the tolerance.

    What is listed below number 1 where possible cars rank; one shim more for each wheel; a stack of
    whatever height; what can be built but breaks a limit; a rod of another length beside the best
    stack, its inner pivot moved; a pivot made to measure.
    `wheels` is then fitted, with `shims_mm` bought ("shim") or the inner pivot `longer_mm` farther
    from the wheel ("rod"), None where a wheel needs none; `kit` is what it is built of, None for
    the car's own and for a stack that no kit was found to build; `stops` are limits in its way.
    `far` tells that no hardware moves an inner pivot so far.
    """

    kind: WayOutKind
    kit: str | None = None
    peak_deg: float
    meets: bool
    wheels: list[Fitted] = Field(default_factory=list)
    shims_mm: list[float | None] = Field(default_factory=list)
    longer_mm: list[float | None] = Field(default_factory=list)
    far: bool = False
    stops: list[Stop] = Field(default_factory=list)


class Placed(Fitted):
    """What is fitted at one wheel, and on which side of the arm its outer joint then sits.

    `of_arm` is None without a stack, or where the stud lies level.
    """

    of_arm: Literal["under", "over"] | None
    other_ball_joint: bool


class Verdict(Fact):
    """What to fit, and its peak against the tolerance; `kit_idle` as `Option` has it.

    `peak_deg` is its, `least_deg` the least of anything that fits, which may be harder to do; both
    are None where nothing keeps every limit, and `wheels` then holds the car left as it is.  Where
    possible cars rank, `least_deg` is None: the least peak as measured is not sought there.
    `tape_deg` is what the tape leaves of a toe change, one standard deviation, where that let work
    decide between peaks that a gauge would tell apart, None elsewhere.
    `kept_share` is in which share of the possible cars limits are to be kept, where these rank.
    Where a band is wanted, `bands` holds each wheel's and decides; else the tolerance does.  Peaks
    count `from_gain` where a toe gain is wanted in place of no change.
    `ways_out` say what would meet a tolerance that is missed, the easiest first; `stops` which
    limits number 1 breaks where nothing fits.
    """

    kit: str | None
    kit_idle: bool = False
    leave: bool
    fits: bool
    meets: bool
    peak_deg: float | None
    least_deg: float | None
    tape_deg: float | None
    tolerance_deg: float
    bands: list[BandVerdict]
    from_gain: bool = False
    wheels: list[Placed]
    ways_out: list[WayOut]
    stops: list[Stop] = Field(default_factory=list)
    kept_share: float | None = None

    @property
    def missed_by_deg(self) -> float | None:
        """What the peak exceeds the tolerance by; None where it does not, or nothing fits."""
        over = 0.0 if self.peak_deg is None else self.peak_deg - self.tolerance_deg
        return over if over > 0.0 else None
