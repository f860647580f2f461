"""What is said of one thing that may be fitted: scores, margins, strength, and how sure it is."""

from optimizer.models.answer import Answer, Fact
from optimizer.models.stops import DeadCenter, Stop, Tightest
from optimizer.units import Side


class LinkageFitted(Answer):
    """What is fitted of the linkage itself: extension, brackets, plate, spacer and the like."""

    ball_joint_drop_mm: float = 0.0
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    knuckle_plate_mm: float = 0.0
    crossmember_spacer_mm: float = 0.0
    rack_tilt_mm: float = 0.0
    lift_block_mm: float = 0.0
    shackle_longer_mm: float = 0.0


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


class BandVerdict(Fact):
    """Toe changes held against a wanted band, at the heights that it covers.

    `judged` heights or readings are covered and `outside` of them lie outside, most at
    `travel_mm` by `beyond_deg`, toe-in positive; both are None where none does.
    """

    what: str
    judged: int
    outside: int
    travel_mm: float | None = None
    beyond_deg: float | None = None

    @property
    def within(self) -> bool:
        """Whether the band is kept wherever it says anything, and says something."""
        return self.judged > 0 and not self.outside


class Fitted(LinkageFitted):
    """What is fitted at one wheel, from the standard seat.

    Place of the rack and choice of the linkage are the same at both wheels of an axle that steers.
    """

    side: Side
    outer_drop_mm: float
    stack_mm: list[float]
    rack_raise_mm: float
    rack_fore_aft_mm: float = 0.0


class NeededSetting(LinkageFitted):
    """The setting with the smallest peak at a ride height, whatever the kit can build.

    Of several that the rack spacers and linkage choices make, the one that asks least of the kit.
    `extended` tells that the ball-joint drop is another than the car has now.
    """

    outer_drop_mm: float
    rack_raise_mm: float
    rack_fore_aft_mm: float = 0.0
    extended: bool
    peak_toe_change_deg: float


class WheelSetting(Fitted, ToeFigures, Strength):
    """What is fitted at one wheel, with its scores and margins.

    `tilt_margin_deg` and `clearance_mm` are the smallest over travel x rack travel, None where the
    case states no tilt limit or no obstacle; a negative margin, or a gap below the wanted one, is
    in `reasons`.  `tightest_joint` and `tightest_gap` say which joint and which parts these are of,
    and where.  `dead_centers` are how near it comes to each kind of them, nearest first.  `band` is
    the verdict of the wanted band, None where none is stated.  `steer_rate_change_percent` is how
    much faster the wheel steers per rack travel than on the car as it is, None on a rear axle.
    """

    tilt_margin_deg: float | None
    clearance_mm: float | None
    tightest_joint: Tightest | None = None
    tightest_gap: Tightest | None = None
    dead_centers: list[DeadCenter]
    tie_rod_length_change_mm: float
    steer_rate_change_percent: float | None = None
    fits: bool
    meets_tolerance: bool
    band: BandVerdict | None = None
    reasons: list[Stop]


class Option(Answer):
    """One thing that may be fitted to the whole car.

    `kit` is the kit that it belongs to, None where there is none, and `kit_idle` tells that nothing
    of that is fitted.  Rack raise and linkage are None
    where each of two wheels has its own.  The peak is the worse wheel's; `fits` and
    `meets_tolerance` hold where they hold for every wheel, and `reasons` are those of all wheels.
    """

    kit: str | None = None
    kit_idle: bool = False
    lowered_by_mm: float
    rack_raise_mm: float | None
    ball_joint_drop_mm: float | None
    rack_fore_aft_mm: float | None = 0.0
    frame_bracket_raise_mm: float | None = 0.0
    axle_bracket_raise_mm: float | None = 0.0
    knuckle_plate_mm: float | None = 0.0
    crossmember_spacer_mm: float | None = 0.0
    rack_tilt_mm: float | None = 0.0
    lift_block_mm: float | None = 0.0
    shackle_longer_mm: float | None = 0.0
    peak_toe_change_deg: float
    fits: bool
    meets_tolerance: bool
    reasons: list[Stop]
    wheels: list[WheelSetting]


class LimitKept(Answer):
    """How surely one limit of one wheel is kept: the share of the possible cars that keep it."""

    side: Side
    kind: str
    name: str
    probability: float


class Chances(Answer):
    """How an option comes out in the cars that tape and build leave possible.

    Of `cars` cars, drawn with the accuracy and the tolerances of `[accuracy]`, the same ones for
    every option.  The peak is the worse wheel's: its mean, its median, and what it stays above and
    below in 95 of 100.  The probabilities are those that the peak keeps the tolerance, that every
    limit is kept, and that the peak is within 0.01 deg of the best, in each car, of what can be
    built and is not seen to break a limit on the car as measured; of kits, of those that fit.
    `limits` holds those that are not as good as sure.  With `other_wheel` the wheel that nobody
    measured was drawn along, as far from a mirror image as the case says.  Where a band is wanted
    (`of_band`), it takes the tolerance's place.
    """

    cars: int
    peak_mean_deg: float
    peak_median_deg: float
    peak_05_deg: float
    peak_95_deg: float
    meets_tolerance_probability: float
    keeps_limits_probability: float
    near_best_probability: float
    limits: list[LimitKept]
    other_wheel: bool = False
    of_band: bool = False


class Ranked(Option):
    """An option with its place in the ranking.

    `leading` options are within gauge resolution of the best that fits; `unbeaten` says that no
    option that fits beats it on peak, effort, clearance and steering ratio at once, None where
    there were too many to tell.  `chances` are None where no possible car follows the wheel.
    `ranked_peak_deg` is the peak that it has its place by where the possible cars rank, over twice
    as many of them as `chances`: each with every error to the other side as well; of two wheels
    each has its own, and it is the higher.  None where the car as measured ranks, or no possible
    car follows the wheel.
    """

    rank: int
    leading: bool
    is_as_is: bool
    unbeaten: bool | None
    chances: Chances | None = None
    ranked_peak_deg: float | None = None


class Uncertainty(Answer):
    """What number 1's peak may really be, with points only as accurate as the case says.

    `peak_95_deg` is the peak that it stays below with 95 % probability; `remeasure` names the
    coordinate that most of the spread comes from, and `remeasure_share` its share of the variance,
    0 where points known exactly leave no spread.  `peak_95_with_x_deg` is what `peak_95_deg` would
    be with x measured too, None where it was.  Where a band is wanted (`of_band`), it takes the
    tolerance's place.
    """

    samples: int
    peak_median_deg: float
    peak_95_deg: float
    meets_tolerance_probability: float
    remeasure: str
    remeasure_share: float
    of_band: bool = False
    peak_95_with_x_deg: float | None = None
