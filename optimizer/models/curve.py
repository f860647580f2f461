"""What `curve` may be asked for, and what it answers; lengths in millimeters, angles in degrees."""

from typing import Literal

from pydantic import Field

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer, Fact
from optimizer.models.base import FrozenModel
from optimizer.models.comparison import SidesCompared
from optimizer.models.diagnosis import Settling, StaticDrift
from optimizer.models.setting import BandVerdict, LinkageFitted
from optimizer.models.stops import Ends
from optimizer.models.subject import Subject
from optimizer.units import Side


class CurveRequest(FrozenModel):
    """A change to follow through the travel; None leaves what the case says.

    `right_outer_drop` is the right wheel's where both are measured, that of the left one if None.
    """

    outer_drop: float = 0.0
    right_outer_drop: float | None = None
    rack_raise: float = 0.0
    rack_fore_aft: float = 0.0
    ball_joint_drop: float | None = None
    frame_bracket_raise: float | None = None
    axle_bracket_raise: float | None = None
    knuckle_plate: float | None = None
    crossmember_spacer: float | None = None
    rack_tilt: float | None = None
    lift_block: float | None = None
    shackle_longer: float | None = None
    lowered_by: float | None = None
    rack_travel: float = 0.0
    bump: float | None = Field(default=None, ge=0.0)
    droop: float | None = Field(default=None, ge=0.0)
    step: float = Field(default=10.0, gt=0.0)
    keep_rod_length: bool = False
    opposite: bool = False


class CurveOf(LinkageFitted, Fact):
    """What a curve is of: where the car stands and what is fitted.

    `right_outer_drop_mm` is None where one wheel was measured.
    """

    lowered_by_mm: float
    outer_drop_mm: float
    right_outer_drop_mm: float | None
    rack_raise_mm: float
    rack_fore_aft_mm: float = 0.0
    rack_travel_mm: float
    keep_rod_length: bool
    opposite: bool


class NoPose(Fact):
    """Heights at which there is no pose, and what ends there.

    `used_mm` is the bump and droop that the case says the car uses, where all the heights lie
    beyond them: they were asked for, and say nothing of the car.
    """

    travel_mm: tuple[float, ...]
    ends: Ends
    used_mm: tuple[float, float] | None = None


class WheelCurve(Answer):
    """Toe and its companions of one wheel against its own travel; None out of reach."""

    side: Side
    travel_mm: list[float]
    toe_deg: list[float | None]
    camber_deg: list[float | None]
    iso_camber_deg: list[float | None]
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
    band: BandVerdict | None = None
    settling: Settling | None = None
    drift: list[StaticDrift] = Field(default_factory=list)
    notes: list[NoPose]


class CurvesTogether(Answer):
    """Both curves at once, at each of the left wheel's heights; None where a wheel is out of reach.

    `right_travel_mm` is the right wheel's travel there; total toe is the sum of both wheels' toe,
    the difference left less right, toe-in positive.
    """

    right_travel_mm: list[float]
    total_toe_deg: list[float | None]
    toe_difference_deg: list[float | None]


class CurveResult(Answer):
    """The answer of `curve`; `together` and `comparison` are None where one wheel was measured.

    `others` are curves of other settings or other cars that were asked for beside it.
    """

    format: Literal[2] = 2
    subject: Subject
    setting: CurveOf
    wheels: list[WheelCurve]
    together: CurvesTogether | None = None
    comparison: SidesCompared | None = None
    others: list["OtherCurve"] = Field(default_factory=list)

    @property
    def goes_there(self) -> bool:
        """Whether every wheel has a pose somewhere on its travel."""
        return all(any(toe is not None for toe in wheel.toe_deg) for wheel in self.wheels)


class OtherCurve(Answer):
    """A curve that is laid over another one, under the name that it was asked for by."""

    name: str
    curve: CurveResult
