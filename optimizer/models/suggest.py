"""What `suggest` answers; every length in millimeters and every angle in degrees."""

from typing import Literal

from pydantic import Field

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer
from optimizer.models.cautions import Caution
from optimizer.models.check import Doubted
from optimizer.models.comparison import SidesCompared, TotalToe
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.diagnosis import Diagnosis, Settling
from optimizer.models.next_reading import WheelReadings
from optimizer.models.pictures import WheelPictures
from optimizer.models.setting import Fitted, Ranked, Uncertainty
from optimizer.models.side_effects import SideEffects
from optimizer.models.strength import RodThread, StudSection
from optimizer.models.subject import Subject
from optimizer.models.verdict import Verdict
from optimizer.units import Side


class SpacedPart(Fitted):
    """One plate or spacer with all else as it is, or the car as it is; at ride height, toe reset.

    `arm_angle_deg` is the lower arm's in the front view and `roll_center_height_mm` is above the
    ground, None where there is none.  What a part costs: tilt and gap that it leaves, None where
    none is stated, what the rod comes out longer by, and the bolts of `Effort`, as `work`.
    """

    arm_angle_deg: float | None
    roll_center_height_mm: float | None
    peak_toe_change_deg: float
    tilt_margin_deg: float | None
    clearance_mm: float | None
    tie_rod_length_change_mm: float
    work: float
    fits: bool


class Certificate(Answer):
    """How far the answer is proved; `kind` "exhaustive" means that no option was left out.

    `combinations` counts the options, `wheel_settings` what was scored for each wheel,
    `solved_exactly` how many of these were solved, which are the `study_trials` of the search.
    """

    kind: Literal["exhaustive", "none"]
    combinations: int
    wheel_settings: list[int]
    solved_exactly: int
    best_peak_toe_change_deg: float | None
    study_peak_toe_change_deg: float | None
    study_gap_deg: float | None
    study_trials: int


class RankedBy(Answer):
    """What options were ranked by, where not by the peak of the car as measured.

    "expected" is the mean peak over the possible cars, "worst" the peak that is not exceeded in 95
    of 100 of them; an option that keeps every limit in less than the share `limits_kept` of them
    does not fit.  `nominal_first` is what the car as measured would have put first, None where that
    is number 1 as well.  Peaks of `Certificate` are then those that were ranked by.
    """

    criterion: Literal["expected", "worst"]
    limits_kept: float
    nominal_first: Ranked | None


class Surer(Answer):
    """What keeps its limits more surely than number 1 of a ranking by the car as measured.

    `rank` is that of the first change shown that keeps every limit in the share `limits_kept` of
    the possible cars or more, None where none that is shown does.
    """

    rank: int | None
    limits_kept: float


class Reading(Answer):
    """Toe change that a gauge should show at a wheel travel after fitting."""

    travel_mm: float
    toe_change_deg: float


class Curves(Answer):
    """Toe change over the used travel, before and after, beyond the change that is wanted."""

    travel_mm: list[float]
    wanted_deg: list[float]
    as_is_deg: list[float]
    best_deg: list[float] | None


class BoughtFor(Fitted):
    """The one shim more that a wheel lacks, None where it lacks none; and what is built with it."""

    thickness_mm: float | None


class NextShim(Answer):
    """One shim more for each wheel, the one that would bring the peak down most.

    `peak_now_deg` is the smallest peak of what fits now, None where nothing does.
    """

    peak_now_deg: float | None
    peak_then_deg: float
    wheels: list[BoughtFor]


class KitFacts(Answer):
    """What a kit is held by, costs and weighs; a straight bolt drills the arm's taper out."""

    name: str
    seat: Literal["tapered", "straight-bolt"] | None
    irreversible: bool
    price: float | None
    mass_g: float | None


class WheelAnswer(Answer):
    """What is told of one wheel: what it does now, and what number 1 makes of it.

    `expected` and `curves.best_deg` are of number 1, empty and None where nothing fits;
    `uncertainty` is then of the car left as it is.  `side_effects` are those of
    `SuggestResult.side_effects_of`.  `spaced_parts` holds plates and spacers
    against each other, empty where none is to be chosen.  `pictures` are None unless they were
    asked for.
    """

    side: Side
    alignment: AlignmentAnswer | None = None
    diagnosis: Diagnosis
    uncertainty: Uncertainty
    curves: Curves
    expected: list[Reading]
    side_effects: SideEffects
    spaced_parts: list[SpacedPart]
    stud: StudSection | None = None
    thread: RodThread | None = None
    settling: Settling | None = None
    pictures: WheelPictures | None = None


class SuggestResult(Answer):
    """The ranked answer, the contract of `suggest --json`.

    `comparison` and `total_toe` are None where one wheel was measured.  `side_effects_of` is the
    rank of the first setting that fits and changes anything, None where none does: the side effects
    are then of the car left as it is.  `surer` is None where number 1 keeps its limits as surely as
    the case asks.  `what_to_read` ranks what may be read first, where that is
    asked for.
    """

    format: Literal[2] = 2
    subject: Subject
    verdict: Verdict
    tolerance_deg: float
    toe_gain_deg_per_10mm: float
    as_is: Ranked
    ranked: list[Ranked]
    certificate: Certificate
    ranked_by: RankedBy | None = None
    surer: Surer | None = None
    wheels: list[WheelAnswer]
    side_effects_of: int | None
    comparison: SidesCompared | None = None
    total_toe: TotalToe | None = None
    custom: CustomPivot | None = None
    next_shim: NextShim | None = None
    kits: list[KitFacts] = Field(default_factory=list)
    currency: str | None = None
    what_to_read: list[WheelReadings] = Field(default_factory=list)
    doubted: Doubted
    cautions: list[Caution]

    @property
    def first(self) -> Ranked | None:
        """Number 1, None where nothing fits."""
        return self.ranked[0] if self.ranked[0].fits else None
