"""What `gauge` answers; every length in millimeters and every angle in degrees.

The facts of a diagnosis are in `remedies` and `sweeps`, those of the questions in `questions` and
`sweeps`.
"""

from typing import Literal

from pydantic import Field, SerializeAsAny

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer, Fact
from optimizer.models.cautions import Caution
from optimizer.models.comparison import Axis
from optimizer.models.how_sure import HowSure
from optimizer.models.next_reading import NextReadings
from optimizer.models.quantities import Triple
from optimizer.models.read_beside import MovedBeside, ReadBeside
from optimizer.models.setting import Chances, Fitted
from optimizer.models.stops import Tightest
from optimizer.models.subject import Subject
from optimizer.units import Side, Units

NumberName = Literal["toe", "toe of both wheels", "rear - front", "behind - ahead", "dial", "spot"]


class GaugeNumber(Answer):
    """What the numbers of a gauge are that tell toe, and their unit."""

    name: NumberName
    unit: Literal["mm", "in", "deg", "min"]


class SweptWith(Fact):
    """One sweep: its rows, the travel that they reach, and what was fitted; None where unsaid.

    Travel counts from the ride height that is judged, `judged_lower_mm` below the one swept at.
    `stack_mm` are the pieces, empty where the case's hardware builds no such stack; `units` are
    those of the file.
    """

    sweep: str
    side: Side | None
    units: Units
    gauge_shows: GaugeNumber
    rows: int
    lowest_mm: float
    highest_mm: float
    judged_lower_mm: float = 0.0
    outer_drop_mm: float | None
    stack_mm: list[float] = Field(default_factory=list)
    rack_raise_mm: float | None
    rack_fore_aft_mm: float | None = None
    ball_joint_drop_mm: float | None = None
    knuckle_plate_mm: float | None = None
    crossmember_spacer_mm: float | None = None
    rack_tilt_mm: float | None = None
    frame_bracket_raise_mm: float | None = None
    axle_bracket_raise_mm: float | None = None
    lift_block_mm: float | None = None
    shackle_longer_mm: float | None = None


class Measured(Answer):
    """The curve that the readings make, toe-in positive.

    Toe is up to the gauge's zero; slope, curvature and peak are of the change from ride height
    beyond what is wanted, over the used travel as far as it was swept, all of it or not;
    `toe_rate_in_per_in` is its largest size per travel, from ride height to any height.  Curvature
    is toe at `curvature_at_mm` of travel, None where two heights alone were read; `swing_deg` is
    the whole range of the rows, end to end; scatter is None where no row is left to tell it by.
    `wanted_deg` is the toe change from ride height that is wanted at each row.
    """

    travel_mm: list[float]
    toe_deg: list[float]
    wanted_deg: list[float]
    toe_slope_deg_per_10mm: float
    toe_slope_in_per_in: float
    toe_rate_in_per_in: float
    toe_curvature_deg: float | None
    curvature_at_mm: float
    swing_deg: float
    peak_toe_change_deg: float
    scatter_deg: float | None
    play_deg: float | None
    all_used_travel_swept: bool = True
    rows_left_out: list[int]


class ConvertedRow(Answer):
    """One row of a sweep: what the gauge showed, and the toe that it comes to.

    `sweep` is its place among those that are `swept`, `row` the place in that, both from 1; `gauge`
    is the number that tells toe, as that sweep's `gauge_shows` says; toe counts from ride height,
    of one wheel; a row that stands apart is `left_out`.
    """

    sweep: int
    row: int
    travel_mm: float
    gauge: float
    toe_change_deg: float
    left_out: bool


class SideDifference(Answer):
    """Two wheels compared, at the heights that both were swept through.

    `half_difference_deg` is half of the first wheel's toe change less the other's;
    `fitted_together` says whether the other wheel's readings took part in correcting the points.
    """

    other: Side
    travel_mm: list[float]
    mean_toe_change_deg: list[float]
    half_difference_deg: list[float]
    fitted_together: bool


class MovedCoordinate(Answer):
    """A coordinate that the readings say is not where the tape said.

    `remeasure` is true where it is farther off than its tape should miss.
    """

    point: str
    axis: Axis
    by_mm: float
    sigmas: float
    remeasure: bool


class GaugeReading(Answer):
    """What the gauge should show at a wheel travel, in the file's units; zero at ride height.

    `gauge` is rear less front for two dials, string and toe plates, behind less ahead for two
    targets, else the dial, spot or angle.
    """

    travel_mm: float
    toe_change_deg: float
    gauge: float


class NextSetting(Fitted):
    """What to fit next to a wheel, from the standard seat, and what it promises.

    What ends in `_change_mm` says the same from what is fitted now;
    `misses_by_deg` is how much the best of the hardware peaks above the wanted `tolerance_deg`,
    None where it meets it, or where a band is wanted instead.
    `best_of_hardware_deg` is the smallest peak to expect of anything that can be built within the
    limits; `stop` is true where what is fitted now is within 0.01 deg of that, and is then what
    the setting says; `linkage_changes` where something of the linkage is to be other than
    while measuring; `within_band` tells whether the curve to expect keeps the wanted
    band wherever the used travel meets it, read there or not.
    Limits are judged at the corrected points; `chances` say how it comes out in the cars that tape,
    readings and build leave possible, None where none of them follows the wheel.
    """

    linkage_changes: bool = False
    outer_drop_change_mm: float
    rack_raise_change_mm: float
    rack_fore_aft_change_mm: float = 0.0
    knuckle_plate_change_mm: float = 0.0
    crossmember_spacer_change_mm: float = 0.0
    rack_tilt_change_mm: float = 0.0
    lift_block_change_mm: float = 0.0
    shackle_longer_change_mm: float = 0.0
    frame_bracket_raise_change_mm: float = 0.0
    axle_bracket_raise_change_mm: float = 0.0
    ball_joint_drop_change_mm: float = 0.0
    tolerance_deg: float
    misses_by_deg: float | None = None
    peak_toe_change_deg: float
    peak_toe_change_95_deg: float
    best_of_hardware_deg: float
    fitted_now_peak_deg: float | None
    stop: bool
    within_band: bool | None
    tightest_joint: Tightest | None = None
    tightest_gap: Tightest | None = None
    chances: Chances | None = None

    @property
    def meets(self) -> bool:
        """Whether what is wanted can be had: the band where there is one, else the tolerance."""
        return self.misses_by_deg is None if self.within_band is None else self.within_band


class BeforeAlignment(Answer):
    """Corrected points of the car before its alignment is set, and the angles that it then gives.

    The part moved as far as it was, these are the corrected points of the aligned car; an angle
    that is not asked for is None.
    """

    points: dict[str, Triple]
    camber_deg: float | None
    caster_deg: float | None


class WheelGauge(Answer):
    """What readings say of one wheel.

    `measured` and `gauge_shows` are of its last sweep, `converted` are the rows of all, and those
    of the other wheel where that is not measured.
    `next` is None without a case, and where nothing that can be built keeps every limit.  Where the
    case asks for an alignment, the fitted points are those of the car with it set.  `contradictory`
    is true where points and readings can't both be right, so that all that follows is a guess.
    `read_beside` is what was read beside the toe of all its sweeps, `next_readings` what may be
    read next and what that would bring, None where they contradict each other, `how_sure` how sure
    it was by tape alone and is now, None unless that is asked for; both None where there is no next
    stack.  `covariance_root` is
    what tape and readings leave open of the fitted points together, as a case's accuracy states it,
    in mm, with what was measured beside them; empty where that can't be said: where they contradict
    each other.
    """

    side: Side
    alignment: AlignmentAnswer | None = None
    measured: Measured
    converted: list[ConvertedRow]
    diagnosis: list[SerializeAsAny[Fact]]
    questions: list[SerializeAsAny[Fact]]
    contradictory: bool = False
    read_beside: list[ReadBeside | MovedBeside] = Field(default_factory=list)
    fitted_points: dict[str, Triple]
    before_alignment: BeforeAlignment | None = None
    covariance_root: dict[str, tuple[tuple[float, ...], ...]] = Field(default_factory=dict)
    moved: list[MovedCoordinate]
    readings_noise_deg: float
    gauge_shows: GaugeNumber
    next: NextSetting | None
    next_readings: NextReadings | None = None
    how_sure: HowSure | None = None
    expected: list[GaugeReading]


class GaugeResult(Answer):
    """The answer of `gauge`, with or without a case; the contract of `gauge --json`.

    `wheels` are those that were swept, of a car whose wheels were both measured; else the one that
    is judged.  `swept` are all sweeps in the order given; `sides` compares it with the other wheel,
    None where only one was swept; `questions` are about what both share.
    """

    format: Literal[2] = 2
    subject: Subject
    swept: list[SweptWith]
    wheels: list[WheelGauge]
    sides: SideDifference | None
    questions: list[SerializeAsAny[Fact]]
    cautions: list[Caution]

    @property
    def asked(self) -> list[Fact]:
        """All questions: about what wheels share, then about each."""
        return [*self.questions, *(one for wheel in self.wheels for one in wheel.questions)]
