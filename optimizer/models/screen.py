"""What `screen` finds: a row for each car, kit and ride height, and what they add up to.

Every length is in millimeters and every angle in degrees.
"""

from typing import Literal

from optimizer.models.answer import Answer
from optimizer.models.reach import BlockedBy, Reached
from optimizer.models.suggest import KitFacts
from optimizer.units import Side

Interval = tuple[float, float]


class ScreenedWheel(Answer):
    """One wheel in a row: what is fitted, None where nothing keeps every limit.

    `needed_outer_drop_mm` is the stack that would be needed where the kit has none that is good
    enough.  `would_do_mm` are the heights of a stack, lowest and tallest of each run, that would
    meet the tolerance and every limit with some rack spacer and the car's own rod end, whatever
    kit builds them.
    """

    side: Side
    outer_drop_mm: float | None
    stack_mm: list[float]
    tie_rod_length_change_mm: float | None
    alone_peak_deg: float | None
    needed_outer_drop_mm: float | None
    would_do_mm: list[Interval]


class ScreenedRow(Reached):
    """One kit on one car at one ride height.

    `case` is the file that the car is from, with the line in a table of cars, and `digest` changes
    with anything in it.  `has_band` is as in `reach`.
    """

    case: str
    digest: str
    car: str
    layout: str
    tolerance_deg: float
    has_band: bool = False
    kit: str
    lowered_by_mm: float
    wheels: list[ScreenedWheel]


class RefusedCar(Answer):
    """A car that could not be screened, and why, as a message to print."""

    case: str
    message: str


class HeightServed(Answer):
    """How many cars meet their tolerance at a ride height."""

    lowered_by_mm: float
    cars: int


class KitServed(KitFacts):
    """How many cars a kit serves: at any of the heights, at each of them, and at all.

    `stopped_by` counts the rows that each kind of limit stops.
    """

    cars: int
    cars_at_all_heights: int
    heights: list[HeightServed]
    stopped_by: dict[BlockedBy, int]


class LengthServed(Answer):
    """How many places a stack of any height up to `longest_mm` would serve."""

    longest_mm: float
    served: int


class StepServed(Answer):
    """How many places are served where a stack comes in whole steps from the standard seat."""

    step_mm: float
    served: int


class RangeServed(Answer):
    """A range of a stack, and how many places it serves together with those before it."""

    min_mm: float
    max_mm: float
    served: int


class RangesServed(Answer):
    """Ranges of one width, each the one that serves most of what those before it leave."""

    width_mm: float
    ranges: list[RangeServed]


class Sizes(Answer):
    """Which range, step and length of stud would serve most.

    A place is one wheel at one ride height; `possible` of `places` can be served by some stack.
    """

    places: int
    possible: int
    lengths: list[LengthServed]
    steps: list[StepServed]
    ranges: list[RangesServed]


class ScreenSummary(Answer):
    """Which kit serves how many cars at which heights, and which sizes would serve most.

    `served` counts, by height, the cars that at least one kit serves, `with_band` those of which a
    band is wanted.
    """

    format: Literal[2] = 2
    cars: int
    with_band: int = 0
    rows: int
    currency: str | None
    kits: list[KitServed]
    served: list[HeightServed]
    sizes: Sizes | None
    refused: list[RefusedCar]
