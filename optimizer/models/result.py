"""What the program answers; every length in millimeters and every angle in degrees."""

from typing import Literal

from pydantic import Field

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.setting import Setting, Uncertainty
from optimizer.models.side_effects import SideEffects
from optimizer.models.vocabulary import Axle, SteeredBy, Vocabulary, words_for

Units = Literal["mm", "in"]
Side = Literal["left", "right"]
Steers = Literal["toe-in", "toe-out", "no change"]


class Subject(Answer):
    """The wheel that an answer is about, and how its owner likes to read it.

    `steering_kind` is None on a rear axle, which nothing steers.
    """

    name: str
    layout: str
    axle: Axle = "front"
    steering_kind: SteeredBy | None = "rack"
    side: Side
    units: Units
    toe_unit: Literal["deg", "min", "mm", "in"]
    toe_diameter_mm: float

    @property
    def words(self) -> Vocabulary:
        """What the trade calls the parts of this car."""
        return words_for(self.axle, self.steering_kind)


class CurveResult(Answer):
    """Toe and its companions against wheel travel, the contract of `curve --json`."""

    format: Literal[1] = 1
    subject: Subject
    side: Side
    travel_mm: list[float]
    toe_deg: list[float | None]
    camber_deg: list[float | None]
    caster_deg: list[float | None]
    kingpin_inclination_deg: list[float | None]
    scrub_radius_mm: list[float | None]
    mechanical_trail_mm: list[float | None]
    half_track_change_mm: list[float | None]
    wheel_center_x_change_mm: list[float | None]
    wheel_center_y_change_mm: list[float | None]
    outer_tilt_deg: list[float | None]
    inner_tilt_deg: list[float | None]
    tie_rod_length_change_mm: float | None
    other_wheel_toe_deg: list[float | None] | None = None
    alignment: AlignmentAnswer | None = None
    notes: list[str]


class Ranked(Setting):
    """A setting with its place in the ranking.

    `unbeaten` says that no setting that fits beats it on peak, effort, clearance and steering ratio
    at once, None where there were too many to tell; `steer_rate_change_percent` is how much faster
    this wheel steers per rack travel than on the car as it is, None on a rear axle.  `kit` is the
    kit that it belongs to, None where the ranking is of no kits, or no kit is fitted.
    """

    rank: int
    leading: bool
    is_as_is: bool
    unbeaten: bool | None
    steer_rate_change_percent: float | None
    kit: str | None = None


class Diagnosis(Answer):
    """What the car does now, in the words of the trade.

    `steers` is what a wheel does in bump; a cure is None where that part of the curve stays within
    the wanted tolerance.
    """

    arms: Literal["ahead", "behind"]
    steers_in_bump: Steers
    steers_in_droop: Steers
    slope_share_deg: float
    curvature_share_deg: float
    height_cure: str | None
    length_cure: str | None


class Certificate(Answer):
    """How far the answer is proved; `kind` "exhaustive" means that no setting was left out."""

    kind: Literal["exhaustive", "none"]
    combinations: int
    solved_exactly: int
    best_peak_toe_change_deg: float | None
    study_peak_toe_change_deg: float | None
    study_gap_deg: float | None
    study_trials: int


class StudSection(Answer):
    """The section of the stud that carries the load; `source` is where its strength is from.

    `standard_force_n` is the rod force at which it reaches its proof strength, or its yield
    strength where only that is known, with the joint at its standard height.
    """

    seat: Literal["tapered", "straight-bolt"]
    section: str
    diameter_mm: float
    standard_height_mm: float
    grade: str | None
    proof_mpa: float | None
    yield_mpa: float | None
    source: str | None
    standard_force_n: float | None
    rod_force_n: float | None


class RodThread(Answer):
    """The tie rod's thread as measured.

    `minimum_mm` is 1.5 diameters (common practice, no source) unless stated; `full_strength_mm` is
    the engagement at which the rod breaks rather than strips, None where the pitch is not stated.
    """

    diameter_mm: float
    engaged_mm: float
    minimum_mm: float
    minimum_is_stated: bool
    full_strength_mm: float | None


class Reading(Answer):
    """Toe change that a gauge should show at a wheel travel after fitting."""

    travel_mm: float
    toe_change_deg: float


class Curves(Answer):
    """Toe change over the used travel, before and after."""

    travel_mm: list[float]
    as_is_deg: list[float]
    best_deg: list[float] | None


class NextShim(Answer):
    """The one shim more that would bring the peak down most, and what would be built with it.

    `peak_now_deg` is the smallest peak of what fits now, None where nothing does.
    """

    thickness_mm: float
    peak_now_deg: float | None
    peak_then_deg: float
    outer_drop_mm: float
    rack_raise_mm: float
    ball_joint_drop_mm: float
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    stack_mm: list[float]


class KitFacts(Answer):
    """What a kit is held by, costs and weighs; a straight bolt drills the arm's taper out."""

    name: str
    seat: Literal["tapered", "straight-bolt"] | None
    irreversible: bool
    price: float | None
    mass_g: float | None


class SuggestResult(Answer):
    """The ranked answer, the contract of `suggest --json`."""

    format: Literal[1] = 1
    subject: Subject
    alignment: AlignmentAnswer | None = None
    tolerance_deg: float
    toe_gain_deg_per_10mm: float
    as_is: Setting
    diagnosis: Diagnosis
    ranked: list[Ranked]
    certificate: Certificate
    uncertainty: Uncertainty
    curves: Curves
    expected: list[Reading]
    side_effects: SideEffects
    stud: StudSection | None = None
    thread: RodThread | None = None
    custom: CustomPivot | None = None
    next_shim: NextShim | None = None
    kits: list[KitFacts] = Field(default_factory=list)
    currency: str | None = None
    cautions: list[str]


class Doubt(Answer):
    """Something in a case that is possible but looks wrong."""

    location: str
    message: str


class CheckResult(Answer):
    """What `check` has to say of a case that can be read."""

    format: Literal[1] = 1
    subject: Subject
    alignment: AlignmentAnswer | None = None
    facts: dict[str, str]
    doubts: list[Doubt]
