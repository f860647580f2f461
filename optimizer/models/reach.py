"""What `reach` answers; every length in millimeters and every angle in degrees."""

from collections.abc import Sequence
from typing import Literal

from pydantic import Field

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer, Fact
from optimizer.models.cautions import Caution
from optimizer.models.check import Doubted
from optimizer.models.setting import BandVerdict, Fitted, NeededSetting
from optimizer.models.stops import Stop
from optimizer.models.subject import Subject
from optimizer.models.suggest import KitFacts
from optimizer.units import Side

BlockedBy = Literal[
    "alignment",
    "linkage",
    "stack",
    "step",
    "curve",
    "tilt",
    "gap",
    "thread",
    "stud",
    "steered",
    "turn",
    "roll",
    "shared",
    "band",
    "unjudged",
]


class NotAligned(Fact):
    """The wanted alignment can't be set: `location` is the key of the case that asks for it."""

    side: Side
    location: str
    message: str


class NotJoined(Fact):
    """The linkage can't follow the wheel over the used travel.

    The "arms" end `travel_mm` before the end of `stroke`, "everywhere" if ride height itself is out
    of their reach; of the "rod" it is not known where.
    """

    kind: Literal["arms", "rod"]
    side: Side
    stroke: Literal["bump", "droop"] | None = None
    travel_mm: float | None = None
    everywhere: bool = False


class StackMissed(Fact):
    """The needed stack is none that the kit, or the car's own hardware, builds.

    It lies before the kit's range or behind it, whose end is `nearest_mm`, or between two `step`s,
    always `by_mm` from the nearest.
    """

    kind: Literal["before", "behind", "step"]
    side: Side
    own_hardware: bool
    needed: NeededSetting
    nearest_mm: float
    by_mm: float


WhichStack = Literal["needed", "best"]


class StopThere(Stop):
    """A limit that an ideal `stack` would break: the one needed, or the best of a curve."""

    stack: WhichStack


class RodCure(Answer):
    """The inner pivot moved so that the rod has the length that the curve asks for.

    It goes `longer_mm` away from the outer pivot, with the stack that then suits it best; no limit
    was looked at.
    """

    longer_mm: float
    outer_drop_mm: float
    peak_toe_change_deg: float


class CurveLeft(Fact):
    """Even the needed stack leaves `by_deg` more than the tolerance: the curve's own shape.

    `cure` is what another place of the inner pivot would leave, None where it was not sought, or
    lies farther off than any hardware moves one; `hardware_ends_mm` is where the hardware ends
    before that stack, None where it does not.
    """

    side: Side
    needed: NeededSetting
    by_deg: float
    own_hardware: bool = True
    hardware_ends_mm: float | None = None
    cure: RodCure | None = None


class OutOfBand(Fact):
    """What comes nearest to the middle of the wanted band does not keep it."""

    side: Side
    verdict: BandVerdict


class NothingShared(Fact):
    """Each wheel meets the height alone, but not both with what they share."""

    kind: Literal["shared"] = "shared"


WheelStop = NotAligned | NotJoined | StackMissed | CurveLeft | OutOfBand | StopThere | Stop


def beside_ends(stop: WheelStop, ends_mm: Sequence[float]) -> WheelStop:
    """The stop of a curve, with where hardware ends before the stack that the stop tells of."""
    if not isinstance(stop, CurveLeft):
        return stop
    (lowest, tallest), stack = ends_mm, stop.needed.outer_drop_mm
    ends = lowest if stack < lowest else tallest if stack > tallest else None
    return stop.model_copy(update={"hardware_ends_mm": ends})


class Reached(Answer):
    """Whether the tolerance is met, with what setting, and what stops it if not.

    Rack raise, linkage and peak are None where there is no setting.
    """

    reachable: bool
    rack_raise_mm: float | None = None
    rack_fore_aft_mm: float | None = None
    ball_joint_drop_mm: float | None = None
    frame_bracket_raise_mm: float | None = None
    axle_bracket_raise_mm: float | None = None
    knuckle_plate_mm: float | None = None
    crossmember_spacer_mm: float | None = None
    rack_tilt_mm: float | None = None
    lift_block_mm: float | None = None
    shackle_longer_mm: float | None = None
    peak_toe_change_deg: float | None = None
    blocked_by: list[BlockedBy] = Field(default_factory=list)
    short_by: dict[str, float] = Field(default_factory=dict)


class WheelReach(Reached):
    """One wheel in a row.

    What is fitted is the row's setting, None where it has none.  `reachable`, `alone_peak_deg` (its
    smallest peak that keeps every limit), what blocks it and what it would need are of this wheel
    alone, whatever would suit the other.  Camber and caster are those at ride height, None where
    the arms can't be joined there; `alignment` is what is moved for those that the case asks for,
    set anew at each height.
    """

    side: Side
    outer_drop_mm: float | None = None
    stack_mm: list[float] = Field(default_factory=list)
    tie_rod_length_mm: float | None = None
    tie_rod_length_change_mm: float | None = None
    alone_peak_deg: float | None = None
    camber_deg: float | None = None
    caster_deg: float | None = None
    alignment: AlignmentAnswer | None = None
    reasons: list[WheelStop] = Field(default_factory=list)
    needed: NeededSetting | None = None


class MetInCars(Answer):
    """In what share of the cars that tape and build leave possible a kit meets a ride height.

    Of `cars` cars, the same ones for every row, those in which some setting of the kit keeps the
    tolerance and every limit.
    """

    cars: int
    met_probability: float


class ReachRow(Reached):
    """One kit at one ride height.

    The setting is the one with the smallest peak of the worse wheel that keeps every limit, None
    where nothing does; rack raise and linkage are None, too, where each of two wheels has its own.
    `blocked_by` and `short_by` say what stops the kit and by how much, of all wheels, "shared" that
    no one rack height suits both; all are empty where it is reachable.
    `chances` is None where they were not asked for, or no possible car can be followed there.
    """

    lowered_by_mm: float
    kit: str
    chances: MetInCars | None = None
    reasons: list[WheelStop | NothingShared] = Field(default_factory=list)
    wheels: list[WheelReach]


class SweetSpot(Answer):
    """Ride heights from which to which one setting meets the tolerance, toe reset at each.

    The widest run of neighbors among the heights looked at, with what is fitted to each wheel and
    its largest peak there; what is best at none of the heights was not tried.
    """

    highest_mm: float
    lowest_mm: float
    peak_toe_change_deg: float
    wheels: list[Fitted]


class KitReach(KitFacts):
    """A kit, and the lowest of the ride heights at which it meets the tolerance, if any.

    The seat is None for the case's own hardware.  `least_deg` is the tolerance that it would meet
    at the height that suits it best, `least_at_mm`, and `all_heights_deg` the one that it would
    meet at every height looked at; None where nothing keeps every limit at one, or at all, of them.
    `sweet_spot` is None where it meets no height, or was not sought.
    """

    lowest_mm: float | None
    reachable_heights: int
    least_deg: float | None = None
    least_at_mm: float | None = None
    all_heights_deg: float | None = None
    sweet_spot: SweetSpot | None = None


class ReachResult(Answer):
    """Which ride heights can be met, by which kit: the contract of `reach --json`.

    With `has_band` a band is wanted: a height is met where the setting with the smallest peak,
    counted from its middle, keeps it; the tolerance then decides nothing.
    `doubted` is None where the answer was not asked for in depth.
    """

    format: Literal[2] = 2
    subject: Subject
    tolerance_deg: float
    has_band: bool = False
    currency: str | None
    kits: list[KitReach]
    heights: list[ReachRow]
    doubted: Doubted | None = None
    cautions: list[Caution] = Field(default_factory=list)
