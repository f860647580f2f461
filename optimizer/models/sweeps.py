"""What sweeps tell beside each other: other stacks on one wheel, and both wheels of a car."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.models.remedies import Arms, Way
from optimizer.units import Side, Units

SideKind = Literal["alike", "differ", "changed-over", "slopes", "curvatures"]


class Lesson(Fact):
    """What height was worth between two sweeps, and where by that the slope is as wanted.

    `worth_deg_per_mm2` is the slope that a millimeter of outer drop plus rack raise made [deg per
    mm of travel] and `tried_mm` how many there were; `wanted_mm` counts from the standard seat.
    `arms` are where the arms must be for that, None where it was known before.
    """

    before: str
    after: str
    units: Units
    worth_deg_per_mm2: float
    tried_mm: float
    wanted_mm: float
    arms: Arms | None = None


class Contradiction(Fact):
    """A change between two sweeps of one wheel that can't have come from the change of stack.

    `by_deg_per_10mm` is how far slopes differ with the same parts; `height_mm` the change of outer
    drop plus rack raise, `went` the way that the curve turned in bump, and `as_mm` the height that
    would have changed the slope as much.
    """

    kind: Literal["same-parts", "wrong-way", "odd-worth"]
    before: str
    after: str
    units: Units
    by_deg_per_10mm: float | None = None
    height_mm: float = 0.0
    arms: Arms | None = None
    went: Way | None = None
    as_mm: float | None = None


class SideFinding(Fact):
    """Whether two wheels agree, where they don't, and what usually causes that.

    `way` is where this wheel toes more than the `other` one, by `by_deg`; `height_mm` would make
    the slopes differ as they do, None where that is not known.
    """

    kind: SideKind
    units: Units
    other: Side
    by_deg: float | None = None
    travel_mm: float | None = None
    way: Way | None = None
    height_mm: float | None = None
    stacks_mm: float | None = None
