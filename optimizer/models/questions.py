"""What may not be what it seems in readings, as facts: asked about, never corrected."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.models.remedies import Arms
from optimizer.models.vocabulary import Axle
from optimizer.units import Side, Units

QuestionKind = Literal[
    "all-alike",
    "column-alike",
    "large-change-in-degrees",
    "large-change",
    "seconds-of-arc",
    "droop-without-minus",
    "minus-lost",
    "row-apart",
    "rows-changed-over",
    "gauge-slipped",
    "scatter",
    "odd-step",
    "ride-height-outside",
    "ride-height-not-read",
    "zeroed-elsewhere",
    "odd-reach",
    "turns-added",
    "half-turn",
    "radius-for-diameter",
    "gauge-below-tire",
    "narrow-gauge",
    "near-dial",
    "wide-gauge",
    "far-dial",
    "play",
    "no-diameter",
    "lone-dial",
    "lone-target",
    "angle-sign",
    "angle-wheels",
]
# Rows that are hardly as the gauge showed them: what follows from them is a guess.
MISTYPED: tuple[QuestionKind, ...] = (
    "all-alike",
    "droop-without-minus",
    "gauge-slipped",
    "minus-lost",
    "odd-reach",
    "rows-changed-over",
)
OF_THE_GAUGE: tuple[QuestionKind, ...] = (  # and of every sweep that was taken with it
    "angle-sign",
    "angle-wheels",
    "gauge-below-tire",
    "narrow-gauge",
    "near-dial",
    "wide-gauge",
    "far-dial",
    "radius-for-diameter",
)
PlayOf = Literal["gauge", "inner"]
SlipKind = Literal[
    "turned",
    "column-turned",
    "other-end",
    "exchanged",
    "doubled",
    "halved",
    "tenfold",
    "tenth",
    "travel-doubled",
    "travel-halved",
    "times-60",
    "by-60",
    "inches",
    "millimeters",
]
Stroke = Literal["bump", "droop"]


class Question(Fact):
    """Something in a readings file that looks like a slip of the pen or of the gauge.

    `units` are those of the file; `rows` count from 1; `to_mm` is the height to which travel
    steps from `travel_mm`, `usual_mm` away as a rule, or above which the gauge had slipped;
    `column` is what its gauge calls one; `sweep` is named where it is one of several.
    """

    kind: QuestionKind
    sweep: str | None = None
    units: Units
    rows: tuple[int, ...] = ()
    column: str | None = None
    by_deg: float | None = None
    travel_mm: float | None = None
    to_mm: float | None = None
    usual_mm: float | None = None
    spacing_mm: float | None = None
    diameter_mm: float | None = None


class OtherAxle(Fact):
    """Readings of a wheel of another axle than the case's."""

    said: Axle
    measured: Axle


class OtherArms(Fact):
    """Readings that have the arms on the other side of the axle than the points."""

    said: Arms
    measured: Arms


class OtherTravel(Fact):
    """Readings that state another used travel than the case; `units` are the case's."""

    units: Units
    bump_mm: float
    droop_mm: float
    case_bump_mm: float
    case_droop_mm: float


class IdleShelf(Fact):
    """Readings that name pieces of their own beside a case, whose hardware holds."""


class OtherWheel(Fact):
    """Readings of the wheel that the case does not measure, taken for its mirror image."""

    said: Side
    measured: Side


class OtherRack(Fact):
    """Last sweeps of both wheels that have what they share at two heights; `taken_mm` holds."""

    left_mm: float
    right_mm: float
    taken_mm: float


class SidesExchanged(Fact):
    """Sweeps of both wheels that the points explain as each other's, but not as typed."""


class ShortStroke(Fact):
    """A stroke of the used travel that was not swept to its end; `units` are the file's."""

    stroke: Stroke
    units: Units
    used_mm: float
    swept_mm: float


class NotToe(Fact):
    """How much of what a fixed gauge shows is no toe, by the points, where that is most.

    A wall is met farther forward or rearward as the wheel moves `fore_aft`; dial and target see it
    move sideways, two targets the `tipping` of the beam between them alone.
    """

    units: Units
    fore_aft: bool = False
    tipping: bool = False
    travel_mm: float
    shown_deg: float
    no_toe_deg: float


class PlayFelt(Fact):
    """Play that was felt by hand, end to end, beside the whole swing of the sweep.

    `of` is where it was read, at the gauge or at what the inner pivot sits in.  It makes a sweep
    "meaningless", or is counted as "noise"; of a slide of the inner pivot it is not known without
    the length of the arm.
    """

    kind: Literal["meaningless", "noise", "arm-unknown"]
    of: PlayOf
    by_deg: float | None = None
    swing_deg: float


class Slip(Fact):
    """The slip that explains a sweep that the points can't explain as typed, or one of a few.

    Some can't be explained by the points and the other sweeps together, `beside_others`; `column`
    is whose sign would be turned round, if one alone is.
    """

    sweep: str
    column: str | None = None
    kind: SlipKind
    or_kinds: tuple[SlipKind, ...] = ()
    beside_others: bool = False


class NotBuilt(Fact):
    """A stack or a raise of the rack that the case's hardware does not reach. [mm].

    `units` are the file's.
    """

    of: Literal["stack", "rack"]
    sweep: str
    units: Units
    typed_mm: float
    least_mm: float
    most_mm: float


StackDoubt = Literal["stack", "stack-sign", "rack-sign"]


class OtherStack(Fact):
    """A sweep whose stack may be another than was typed: `explains_mm` would explain the readings.

    Of a "stack-sign" or "rack-sign" only the sign, of the stack or of the rack's height, would be
    another.  It is known to `give_or_take_mm`, one standard deviation, 0 of a sign; `probability`
    is that of a stack mistyped in any sweep, weighed against points that the tape has missed, of
    which one would be `tape_sigmas` standard deviations off; `units` are the file's.
    """

    of: StackDoubt = "stack"
    sweep: str
    units: Units
    typed_mm: float
    explains_mm: float
    give_or_take_mm: float
    probability: float
    tape_sigmas: float


class OutOfReach(Fact):
    """Heights of a sweep that the points of the case can't reach; `units` are the file's."""

    sweep: str
    units: Units
    travel_mm: tuple[float, ...]


class PoorFit(Fact):
    """How many times their noise the corrected model misses the readings by."""

    times: float
