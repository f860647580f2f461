"""What a measured curve means on the car, as facts; every figure is beyond what is wanted."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.models.diagnosis import HeightCure, LengthCure
from optimizer.models.setting import BandVerdict
from optimizer.units import Side, Units

Arms = Literal["ahead", "behind"]
Way = Literal["in", "out"]

# Rates of toe that the trade accepts, at the stated diameter (common practice, no source).
RACE_IN_PER_IN = 0.020
OVAL_IN_PER_IN = 0.030
PRODUCTION_IN_PER_IN = (0.023, 0.115)


class CountedFrom(Fact):
    """What slope, curvature and peak are counted from, where that is not zero."""

    kind: Literal["band", "gain"]
    gain_deg_per_10mm: float = 0.0


class CurveShape(Fact):
    """What the wheel does over the travel that is judged.

    `way` is where it toes: in the stroke that `kind` names, both ways in a "c", in bump where the
    curve is a "slope"; None where it keeps its toe.  `beyond_wanted` tells that this counts from a
    curve that is wanted, not from none.
    """

    kind: Literal["keeps", "keeps-as-swept", "bump", "droop", "c", "slope", "lopsided-slope"]
    way: Way | None = None
    beyond_wanted: bool = False


class HeightError(Fact):
    """A slope, which a pivot's height cures, and by how much as far as it is known.

    The amount is one from what is fitted now: by the lengths ("amount") or by what other stacks did
    ("tried"); where points are known ("worth", of a drag link by the
    points themselves), the next stack tells it.  `worth_deg_per_mm2` is
    the slope that a millimeter of height makes [deg per mm of travel]; `times_tried` is the amount
    against the change of height that was tried, None below 3.
    """

    kind: Literal["arms-unknown", "lengths-unknown", "amount", "tried", "worth", "worth-by-points"]
    arms: Arms | None = None
    cure: HeightCure | None = None
    by_mm: float | None = None
    worth_deg_per_mm2: float | None = None
    times_tried: float | None = None


class FromShelf(Fact):
    """The stack of a shelf that is nearest to what is asked for.

    Heights count from the standard seat or, where it is not said what is fitted, from that;
    `left_deg_per_10mm` is the slope that it leaves; a `target_mm` below 0 is none for shims.
    """

    units: Units
    from_seat: bool
    target_mm: float
    stack_mm: tuple[float, ...]
    height_mm: float
    left_deg_per_10mm: float


class LengthError(Fact):
    """A curvature, which only the rod's length cures, and by how much as far as it is known."""

    kind: Literal["arms-unknown", "lengths-unknown", "amount"]
    cure: LengthCure | None = None
    by_mm: float | None = None


class CurvatureUnknown(Fact):
    """Two heights tell the mean slope between them and no curvature; one more would tell it."""

    low_mm: float
    high_mm: float
    tells_mm: float


class BetweenHeights(Fact):
    """Toe at a second height less that at a first one, against what the maker wants.

    Heights are as the rows count them; `beyond_deg` is how far it lies outside, 0 if it doesn't.
    """

    units: Units
    first_mm: float
    second_mm: float
    change_deg: float
    least_deg: float
    most_deg: float
    beyond_deg: float


class Matters(Fact):
    """Whether a curve matters, by the bands of the trade.

    `kind` is the band of the steepest rate, "toe-in" where it would be that of production cars but
    for its sign; `way` is where the wheel toes in bump, None where that is not known;
    `rate_in_per_in` is the steepest rate where its band is another than that of the slope at ride
    height; `settled` tells a peak that builders felt settled with.
    """

    kind: Literal[
        "within", "within-as-swept", "rear", "race", "oval", "production", "toe-in", "darts"
    ]
    slope_in_per_in: float
    way: Way | None = None
    rate_in_per_in: float | None = None
    settled: bool = False


class HeldAgainstBand(Fact):
    """The verdict of the wanted band on readings of one wheel, `side` where it is the other one."""

    side: Side | None
    verdict: BandVerdict
