"""What is said of one thing that may be fitted: scores, margins, strength, and how sure it is."""

from optimizer.models.answer import Answer


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
