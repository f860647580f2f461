"""What the program answers; every length in millimeters and every angle in degrees."""

from typing import Literal

from pydantic import Field

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer
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


class ToeFigures(Answer):
    """What a toe curve over the used travel says; toe-in positive, beyond what is wanted.

    Slope is taken at ride height; curvature is the square part as toe at the end of the longer
    stroke; the remainder is the peak of what both leave.
    """

    peak_toe_change_deg: float
    rms_toe_change_deg: float
    toe_slope_deg_per_10mm: float
    toe_slope_in_per_in: float
    toe_curvature_deg: float
    toe_remainder_deg: float


class Tightest(Answer):
    """The joint or the gap that comes nearest to its limit, and where.

    `travel_mm` is from ride height, bump positive, `rack_travel_mm` to the left of the car;
    `sentence` says it all in the case's units.
    """

    name: str
    travel_mm: float
    rack_travel_mm: float
    sentence: str


class Strength(Answer):
    """What a setting asks of the stud and the thread; None where the case doesn't state it.

    `stud_height_ratio` is the lever of the rod force on the stud against the standard joint's,
    `stud_proof_force_n` and `stud_yield_force_n` the rod forces at which its section reaches its
    strength, `stud_safety_factor` the lower of them against the stated force, and
    `thread_engagement_mm` what the toe reset leaves.
    """

    stud_height_ratio: float | None = None
    stud_proof_force_n: float | None = None
    stud_yield_force_n: float | None = None
    stud_safety_factor: float | None = None
    thread_engagement_mm: float | None = None


class BandVerdict(Answer):
    """Toe changes held against a wanted band, at the heights that it covers.

    `sentence` says it in the case's units, without its capital and full stop.
    """

    within: bool
    sentence: str


class Setting(ToeFigures, Strength):
    """One thing that may be fitted, with its scores and margins.

    `tilt_margin_deg` and `clearance_mm` are the smallest over travel x rack travel, None where the
    case states no tilt limit or no obstacle; a negative margin, or a gap below the wanted one, is
    in `reasons`.  `tightest_joint` and `tightest_gap` say which joint and which parts these are of,
    and where.
    `band` is the verdict of the wanted band, None where none is stated.
    """

    outer_drop_mm: float
    rack_raise_mm: float
    ball_joint_drop_mm: float
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    stack_mm: list[float]
    tilt_margin_deg: float | None
    clearance_mm: float | None
    tightest_joint: Tightest | None = None
    tightest_gap: Tightest | None = None
    tie_rod_length_change_mm: float
    fits: bool
    meets_tolerance: bool
    band: BandVerdict | None = None
    reasons: list[str]


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


class Uncertainty(Answer):
    """What the winner's peak may really be, with points only as accurate as the case says.

    `peak_95_deg` is the peak that it stays below with 95 % probability; `remeasure` names the
    coordinate that most of the spread comes from, and `remeasure_share` its share of the variance,
    0 where points known exactly leave no spread.
    """

    samples: int
    peak_median_deg: float
    peak_95_deg: float
    meets_tolerance_probability: float
    remeasure: str
    remeasure_share: float


class Curves(Answer):
    """Toe change over the used travel, before and after."""

    travel_mm: list[float]
    as_is_deg: list[float]
    best_deg: list[float] | None


class Coordinate(Answer):
    """One coordinate of a custom pivot, from its standard place along the axes of the points.

    `tolerance_mm` is how far it may be off, to either side, while the others are exact,
    `tolerance_together_mm` while all are off by as much at once; the peak then stays within the
    wanted tolerance.  Both are 0 where the pivot itself does not, and end at 25 mm.
    """

    pivot: Literal["outer", "inner"]
    axis: Literal["x", "y", "z"]
    move_mm: float
    tolerance_mm: float
    tolerance_together_mm: float


class TurnToeOut(Answer):
    """Steer angle of the inner wheel of a turn minus that of the outer one, both from straight.

    The other side of the car is taken as a mirror image; None where the linkage can't follow.
    """

    rack_travel_mm: float
    before_deg: float | None
    after_deg: float | None


class SteeringCost(Answer):
    """What a custom pivot changes in the steering, against the car as it is.

    The rates are steer angle of this wheel per rack travel, straight ahead at ride height; more
    means quicker steering.
    """

    rate_before_deg_per_mm: float
    rate_after_deg_per_mm: float
    rate_change_percent: float
    turn_toe_out: list[TurnToeOut]


class TradeOff(Answer):
    """A custom pivot that no other one found beats on peak, change, clearance and steering ratio.

    `moves_mm` are x, y, z of the outer pivot, then of the inner one; `change_mm` adds up how far
    pivots, stack, rack and ball joint move.  `kit` is as for the pivot that it is traded against.
    """

    kit: str | None = None
    moves_mm: list[float]
    outer_drop_mm: float
    rack_raise_mm: float
    ball_joint_drop_mm: float
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    peak_toe_change_deg: float
    change_mm: float
    clearance_mm: float | None
    steer_rate_change_percent: float | None


class CustomPivot(Setting):
    """The best pivot made to measure, with what it asks for and what it costs.

    `kit` is the kit whose joint, stud and stack it carries, None where no kits were asked for.
    `outer_drop_mm` is a stack on top of it, 0 where it takes the stack's place.  `held_by` names
    the limits and the sides of the room that it stands at, `limits_within_tolerance` those that it
    may break where it is off by its tolerances, `steering` is None on a rear axle, `change_mm` adds
    up how far pivots, stack, rack and ball joint move.
    `best_stack_peak_toe_change_deg` is the least peak of the settings without a custom pivot, None
    where none fits.  The settings are not finite in number, so there is no certificate.
    """

    kit: str | None = None
    coordinates: list[Coordinate]
    limits_within_tolerance: list[str]
    held_by: list[str]
    steering: SteeringCost | None
    best_stack_peak_toe_change_deg: float | None
    uncertainty: Uncertainty
    toe_change_deg: list[float]
    change_mm: float
    trade_offs: list[TradeOff]
    certificate: Literal["none"] = "none"
    study_trials: int
    pivots_scored: int


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
