"""What the program answers; every length in millimeters and every angle in degrees."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

Units = Literal["mm", "in"]
Side = Literal["left", "right"]
Steers = Literal["toe-in", "toe-out", "no change"]


class Answer(BaseModel):
    """Base of every result: frozen, nothing unnamed, no NaN."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Subject(Answer):
    """The wheel that an answer is about, and how its owner likes to read it."""

    name: str
    layout: str
    side: Side
    units: Units
    toe_unit: Literal["deg", "min", "mm", "in"]
    toe_diameter_mm: float


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
    half_track_change_mm: list[float | None]
    wheel_center_x_change_mm: list[float | None]
    wheel_center_y_change_mm: list[float | None]
    outer_tilt_deg: list[float | None]
    inner_tilt_deg: list[float | None]
    tie_rod_length_change_mm: float | None
    notes: list[str]


class ToeFigures(Answer):
    """What a toe curve over the used travel says; toe-in positive, beyond the wanted gain.

    Slope is taken at ride height; curvature is the square part as toe at the end of the longer
    stroke; the remainder is the peak of what both leave.
    """

    peak_toe_change_deg: float
    rms_toe_change_deg: float
    toe_slope_deg_per_10mm: float
    toe_slope_in_per_in: float
    toe_curvature_deg: float
    toe_remainder_deg: float


class Setting(ToeFigures):
    """One thing that may be fitted, with its scores and margins.

    `tilt_margin_deg` and `clearance_mm` are the smallest over travel x rack travel, None where the
    case states no tilt limit or no obstacle; a negative margin, or a gap below the wanted one, is
    in `reasons`.
    """

    outer_drop_mm: float
    rack_raise_mm: float
    ball_joint_drop_mm: float
    stack_mm: list[float]
    tilt_margin_deg: float | None
    clearance_mm: float | None
    tie_rod_length_change_mm: float
    fits: bool
    meets_tolerance: bool
    reasons: list[str]


class Ranked(Setting):
    """A setting with its place in the ranking."""

    rank: int
    leading: bool
    is_as_is: bool


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


class Reading(Answer):
    """Toe change that a gauge should show at a wheel travel after fitting."""

    travel_mm: float
    toe_change_deg: float


class Uncertainty(Answer):
    """What the winner's peak may really be, with points only as accurate as the case says.

    `peak_95_deg` is the peak that it stays below with 95 % probability; `remeasure` names the
    coordinate that most of the spread comes from, and `remeasure_share` its share of the variance.
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


class SuggestResult(Answer):
    """The ranked answer, the contract of `suggest --json`."""

    format: Literal[1] = 1
    subject: Subject
    tolerance_deg: float
    toe_gain_deg_per_10mm: float
    as_is: Setting
    diagnosis: Diagnosis
    ranked: list[Ranked]
    certificate: Certificate
    uncertainty: Uncertainty
    curves: Curves
    expected: list[Reading]
    cautions: list[str]


class Doubt(Answer):
    """Something in a case that is possible but looks wrong."""

    location: str
    message: str


class CheckResult(Answer):
    """What `check` has to say of a case that can be read."""

    format: Literal[1] = 1
    subject: Subject
    facts: dict[str, str]
    doubts: list[Doubt]
