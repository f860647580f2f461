"""What is answered of a car whose wheels were both measured.

Every answer keeps the keys of the one-wheel answer for the left wheel, adds `right` with the same
keys, and `together` with what only both wheels tell.  Total toe is the sum of both wheels' toe,
differences are left less right, toe-in positive.
"""

from typing import Literal

from pydantic import Field

from optimizer.models.answer import Answer
from optimizer.models.curve import CurveRequest
from optimizer.models.gauge import GaugeResult
from optimizer.models.reach import ReachResult
from optimizer.models.result import CheckResult, CurveResult, SuggestResult
from optimizer.models.setting import Setting
from optimizer.models.sheet import Sheet


class SidesCompared(Answer):
    """How far the wheels are from mirror images of each other, the car as measured.

    `peak_toe_difference_deg` is the largest difference of both wheels' toe change over the used
    travel, at `at_travel_mm`; `tape_alone_deg` what errors of the tape alone would make of two
    wheels that are alike, with 95 % probability.  `alike` says that no more was found than that;
    `causes` what else explains it, the likeliest first.
    """

    alike: bool
    peak_toe_difference_deg: float
    at_travel_mm: float
    tape_alone_deg: float
    causes: list[str]


class CurvesTogether(SidesCompared):
    """Both curves at once; None where either wheel is out of reach.

    `right_travel_mm` is the right wheel's travel at each of the left wheel's.
    """

    right_travel_mm: list[float]
    total_toe_deg: list[float | None]
    toe_difference_deg: list[float | None]


class CurveOfBothSides(CurveResult):
    """The answer of `curve` for both wheels."""

    right: CurveResult
    together: CurvesTogether


class CheckOfBothSides(CheckResult):
    """The answer of `check` for both wheels; doubts are located as typed."""

    right: CheckResult
    together: SidesCompared


class RankedPair(Answer):
    """What both wheels would get with the rack at one height, each its own best stack.

    `peak_toe_change_deg` is the larger of both peaks; `reasons` name the wheel.  Rack raise and
    ball-joint drop are None on a rear axle, where each wheel has its own.  `kit` names the kit on
    both wheels, None where kits are not ranked and for leaving the car as it is.
    """

    rank: int
    kit: str | None = None
    rack_raise_mm: float | None
    ball_joint_drop_mm: float | None
    left: Setting
    right: Setting
    peak_toe_change_deg: float
    fits: bool
    leading: bool
    is_as_is: bool
    reasons: list[str]


class PairProof(Answer):
    """How far the pair is proved: every setting of each wheel at every rack height of both.

    `pairs` counts what these settings could be combined to.
    """

    rack_heights: int
    left_settings: int
    right_settings: int
    pairs: int
    best_peak_toe_change_deg: float | None


class TotalToe(Answer):
    """Toe change of both wheels together, and left less right, over the used travel.

    Beyond the wanted gain; best is with number 1, None where nothing fits.
    """

    travel_mm: list[float]
    total_as_is_deg: list[float]
    difference_as_is_deg: list[float]
    total_best_deg: list[float] | None
    difference_best_deg: list[float] | None


class SuggestTogether(SidesCompared):
    """The ranking of pairs, its proof, and what the gauge shows of both wheels."""

    ranked: list[RankedPair]
    certificate: PairProof
    total_toe: TotalToe


class SuggestOfBothSides(SuggestResult):
    """The answer of `suggest` for both wheels, each at the rack height of the best pair."""

    right: SuggestResult
    together: SuggestTogether


class PairReach(Answer):
    """One ride height with one kit on both wheels and the rack at one height.

    The setting is None where no rack height keeps every limit on both wheels; `stopped_by` names
    the wheels that can't be met even alone, or the rack that can't suit both.  Rack raise and
    ball-joint drop are None on a rear axle, where each wheel has its own.
    """

    lowered_by_mm: float
    kit: str
    reachable: bool
    rack_raise_mm: float | None = None
    ball_joint_drop_mm: float | None = None
    left_outer_drop_mm: float | None = None
    right_outer_drop_mm: float | None = None
    peak_toe_change_deg: float | None = None
    stopped_by: list[Literal["left", "right", "rack"]] = Field(default_factory=list)
    reasons: list[str] = Field(default_factory=list)


class ReachTogether(Answer):
    """Which ride heights both wheels meet at once."""

    heights: list[PairReach]


class ReachOfBothSides(ReachResult):
    """The answer of `reach` for both wheels; each wheel's own rows stand for that wheel alone."""

    right: ReachResult
    together: ReachTogether


class SheetOfBothSides(Sheet):
    """The measuring sheets of both wheels."""

    right: Sheet


class GaugeOfBothSides(GaugeResult):
    """The answer of `gauge` for a car of which both wheels were measured, each by its own readings.

    `right` is None where one wheel alone was swept; the subject then says which.
    """

    right: GaugeResult | None


class PairRequest(CurveRequest):
    """What `curve` may be asked for of both wheels; the right stack is the left one if None."""

    right_outer_drop: float | None = None
