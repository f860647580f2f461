"""What a measuring sheet holds, before anyone has measured."""

from typing import Literal

from optimizer.models.alignment import AlignmentMove
from optimizer.models.answer import Answer, Fact
from optimizer.models.cautions import Caution
from optimizer.models.diagnosis import Settling
from optimizer.models.setting import Fitted, Strength
from optimizer.models.stops import Stop
from optimizer.models.strength import RodThread, StudSection
from optimizer.models.subject import Subject
from optimizer.models.suggest import Reading
from optimizer.units import Side

GaugeKind = Literal[
    "two-dial", "dial-and-roller", "laser", "wall", "mirror", "string", "toe-plates", "angle"
]
FitKind = Literal["as-is", "best", "asked"]
StepKind = Literal[
    "push-pull",
    "tires",
    "worn",
    "record",
    "stands",
    "spring",
    "lock",
    "gauge",
    "sweep",
    "turn-rod",
    "sideways",
    "camber",
    "plates",
    "caster-sweep",
    "three-with-stack",
    "stop",
]

BLANKS: dict[GaugeKind, tuple[str, ...]] = {
    "two-dial": ("front dial", "rear dial", "rear - front"),
    "dial-and-roller": ("dial",),
    "laser": ("spot ahead", "spot behind", "difference"),
    "wall": ("spot",),
    "mirror": ("spot",),
    "string": ("front", "rear", "rear - front"),
    "toe-plates": ("front tape", "rear tape", "rear - front"),
    "angle": ("toe",),
}


class ToFit(Fact):
    """What a wheel is swept with: the car as it is, the best that fits, or what was asked for.

    `kit` is what the stack is built of, None for the car's own; `other_ball_joint` tells that the
    ball joint is set otherwise than the car's.
    """

    kind: FitKind
    fitted: Fitted
    kit: str | None = None
    other_ball_joint: bool = False


class NotBuilt(Fact):
    """The case's hardware builds no stack as high as was asked for; the nearest that it builds."""

    kind: Literal["not-built"] = "not-built"
    nearest_mm: float
    stack_mm: list[float]


class RideHeight(Fact):
    """The height to set the car to, so far below the one at which it was measured."""

    kind: Literal["ride-height"] = "ride-height"
    lowered_by_mm: float


class AlignmentToSet(Fact):
    """The alignment to set a wheel to at that height."""

    kind: Literal["alignment"] = "alignment"
    side: Side
    camber_deg: float
    caster_deg: float
    move: AlignmentMove


class Step(Fact):
    """One of the steps that every sweep begins with."""

    kind: StepKind


class SetUp(Fact):
    """What to write down of a gauge before the first reading."""

    kind: GaugeKind


class WheelSheet(Answer):
    """What to build at one wheel, limits that it breaks, and the rows to fill in."""

    side: Side
    fit: ToFit
    not_built: NotBuilt | None = None
    tie_rod_length_change_mm: float
    stud: StudSection | None
    thread: RodThread | None
    strength: Strength
    stops: list[Stop]
    settling: Settling | None
    align: AlignmentToSet | None
    rows: list[Reading]


class Sheet(Answer):
    """A sheet to print: what to prepare, what to build, and rows to fill in for each wheel."""

    format: Literal[2] = 2
    subject: Subject
    kind: GaugeKind
    prepare: list[RideHeight | Step]
    set_up: SetUp
    blanks: list[str]
    wheels: list[WheelSheet]
    cautions: list[Caution]
