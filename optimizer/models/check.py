"""What `check` has to say of a case that can be read."""

from typing import Literal

from pydantic import Field

from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.answer import Answer, Fact
from optimizer.models.comparison import Axis, SidesCompared
from optimizer.models.next_reading import WheelReadings
from optimizer.models.setting import BandVerdict
from optimizer.models.stops import DeadCenter, Stop
from optimizer.models.subject import Subject
from optimizer.units import Side

Arms = Literal["ahead", "behind"]
PlaceKind = Literal[
    "swapped-arm",
    "swapped-link",
    "swapped-rod",
    "swapped-strut",
    "swapped-axle-link",
    "swept-rod",
    "skewed-arm",
    "steep-link",
    "high-joint",
    "narrow",
    "leaning-shackle",
    "one-sided-link",
]
SizeKind = Literal[
    "off-joint",
    "off-seat",
    "on-ground",
    "unlike-links",
    "rod",
    "radius",
    "diameter",
    "track",
    "rack-too-far",
    "too-thick",
    "reach",
    "beyond-tire",
    "beyond-rim",
    "overlaps",
    "crossing",
    "toe-across",
    "nominal",
    "whole-inches",
    "raised-pitman",
]
WayKind = Literal["lateral-link", "drag-link", "rack-axis", "stud-axis", "other-arms"]
OpenKind = Literal[
    "arms",
    "rear-aim",
    "tilt-limit",
    "obstacles",
    "sizes",
    "inner-bolt-axis",
    "rack-travel",
    "most-move",
]


class OddPlace(Fact):
    """A point whose place along one axis, against that of another, is not the usual one. [mm].

    "swapped-arm", "swapped-link" and "swapped-rod" ends, a "swapped-strut" and a link of an axle
    with its "frame" end at the axle are the wrong way round; a "high-joint" lies above the wheel
    center and a "narrow" wheel center inboard of a joint; a "leaning-shackle" leans toward the
    axle; a "one-sided-link" across the car ends on the side on which it begins; a "swept-rod", a
    "steep-link" and the pivots of a "skewed-arm" run more askew than any car's.
    """

    kind: PlaceKind
    other: str
    axis: Axis
    at_mm: float
    other_at_mm: float


class OddSize(Fact):
    """A length that fits ill with another one, or with none; both in mm.

    Axle ends of "unlike-links", which are a pair at the frame, so far from mirror images.
    A wheel center "off-joint" or a spring's seat "off-seat" by so much, a joint "on-ground" so
    little above it, a "rod" beside an arm, the
    height of the wheel center beside the tire's "radius", that radius where it looks like a
    "diameter", a "track" beside y of the wheel center, rack travel that goes "rack-too-far" for
    the linkage, a shim "too-thick" for the greatest stack, a "reach" that no
    adjuster has, an obstacle that "overlaps" as measured, a link
    "crossing" another so near,
    a diameter "toe-across" which toe is no likely one beside the tire's,
    a rim's inside diameter: no less than the "nominal" one, or of "whole-inches"; a rim or a disc
    "beyond-tire", no less across than the tire, a disc "beyond-rim", no less than that leaves; the
    farthest that a pitman ball is "raised-pitman" on a lifted truck, where nothing lowers it.
    """

    kind: SizeKind
    name: str | None = None
    found_mm: float
    beside_mm: float | None = None


class UnusualAngle(Fact):
    """A caster or a kingpin inclination outside of what is usual. [deg]."""

    kind: Literal["caster", "kingpin"]
    found_deg: float
    low_deg: float
    high_deg: float


class LargeAngle(Fact):
    """A static toe, or a tolerance of it, that may be minutes; a camber that no car has. [deg].

    Or a toe change over the used travel that is more than cars have.
    """

    kind: Literal["toe", "tolerance", "camber", "toe-change"]
    found_deg: float


class UnusualArm(Fact):
    """A steering arm of a length that is not usual. [mm]."""

    kind: Literal["arm"] = "arm"
    found_mm: float
    low_mm: float
    high_mm: float


class OddWay(Fact):
    """Something that points an unusual way.

    A "lateral-link" (its `number`) or a "drag-link" along the car, a "rack-axis" not across it, a
    "stud-axis" that points up, "other-arms" than the case says: `arms` is where `point` puts them.
    """

    kind: WayKind
    number: int | None = None
    point: str | None = None
    arms: Arms | None = None


class OddLength(Fact):
    """A measured length, or rise, that the points by tape miss by so many standard deviations."""

    kind: Literal["length", "rise"]
    said_mm: float
    by_points_mm: float
    sigmas: float


class NotStated(Fact):
    """Something that the case leaves open, so that it can't be judged.

    `arms` is where the points put the arms, where the case doesn't say.
    """

    kind: OpenKind
    arms: Arms | None = None


class BandTooShort(Fact):
    """A wanted band that ends within the used travel. [mm]."""

    kind: Literal["band"] = "band"
    from_mm: float
    to_mm: float
    used_from_mm: float
    used_to_mm: float


class Contradicted(Fact):
    """Points that readings contradict: they are a guess, by what corrected them."""

    kind: Literal["contradicted"] = "contradicted"


DoubtFact = (
    OddPlace
    | OddSize
    | UnusualAngle
    | LargeAngle
    | UnusualArm
    | OddWay
    | NotStated
    | OddLength
    | BandTooShort
    | Contradicted
    | DeadCenter
    | Stop
)


class Doubt(Answer):
    """Something in a case that is possible but looks wrong, located as typed.

    `side` is that of the table in which the key stands, None where the wheels share it, or one was
    measured.
    """

    location: str
    side: Side | None = None
    message: DoubtFact


class Doubted(Answer):
    """What `check` doubts of a case that another command answers.

    `at_least` counts the doubts that are seen without moving the linkage; `turning` are those with
    which every cure turns round, or none is right.
    """

    at_least: int
    turning: list[Doubt] = Field(default_factory=list)


class WheelFigures(Answer):
    """What a case amounts to at one wheel, as measured.

    `lowered_by_mm` is how much lower than that it is to sit; `arms` says where the steering arms
    lie against the axle.  Caster and kingpin inclination are None on a rear axle; `band` is
    the verdict on the curve of now, None where no band is wanted.
    """

    lowered_by_mm: float
    arms: Arms
    arm_mm: float
    rod_mm: float
    caster_deg: float | None
    kingpin_inclination_deg: float | None
    peak_toe_change_deg: float
    band: BandVerdict | None
    stacks: int
    spacers: int


class WheelCheck(Answer):
    """What a case amounts to at one wheel, and every doubt about it."""

    side: Side
    alignment: AlignmentAnswer | None = None
    figures: WheelFigures
    doubts: list[Doubt]


class CheckResult(Answer):
    """The answer of `check`; `comparison` is None where one wheel was measured.

    `what_to_read` ranks what may be read first, where that is asked for.
    """

    format: Literal[2] = 2
    subject: Subject
    wheels: list[WheelCheck]
    comparison: SidesCompared | None = None
    what_to_read: list[WheelReadings] = Field(default_factory=list)
