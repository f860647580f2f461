"""What to read next, as facts: what each reading would still leave to chance."""

from typing import Literal

from pydantic import Field

from optimizer.models.answer import Answer, Fact
from optimizer.units import Side

ReadingKind = Literal[
    "sweep",
    "rod_turned",
    "sideways",
    "camber",
    "steered",
    "turn_toe_out",
    "caster_sweep",
    "three_with_stack",
    "point",
    "length",
    "points",
]


class Measured(Fact):
    """A coordinate of a point or, without `axis`, the length between two points.

    The order of the peak's variance-based indices, by tape alone, None after a sweep: shares of its
    variance that go if this alone were known, and that are left if all else were.
    """

    points: list[str]
    axis: str | None
    first_order: float | None = None
    total_order: float | None = None


class NextReading(Fact):
    """A reading that may be taken next: what the stack chosen after it would still lose.

    `loss_deg` is by how much the peak of that stack is expected to exceed the best there is, over
    the cars that are still possible; in `enough_of_100` of 100 of them it is by no more than 0.01
    deg; with the errors of the build it peaks at `peak_mean_deg` on average and keeps the tolerance
    in `meets_of_100`.  `minutes` is what it takes; `worth_it` whether that is the reading to take.
    `travel_mm` are the heights to read, no more of them than tell something, empty where it is of
    ride height; what is to be fitted for it is told where that is not what is fitted now, `is_next`
    where it is the stack to fit next anyway; `by_tape` where nothing was read before.  `measured`
    is what is measured again, to `to_mm`, one standard deviation.
    """

    kind: ReadingKind
    minutes: float
    travel_mm: list[float] = Field(default_factory=list)
    outer_drop_mm: float | None = None
    rack_raise_mm: float | None = None
    is_next: bool = True
    by_tape: bool = False
    measured: list[Measured] = Field(default_factory=list)
    to_mm: float | None = None
    loss_deg: float
    enough_of_100: float
    peak_mean_deg: float
    meets_of_100: float
    worth_it: bool


class Nearer(Answer):
    """Another stack than the one to fit next that is within 0.01 deg of the best in more cars.

    In `enough_of_100`; it peaks `gain_deg` lower on average, and no gauge tells that.
    `rack_raise_mm` is None where there is no choice of it.
    """

    outer_drop_mm: float
    rack_raise_mm: float | None
    enough_of_100: float
    gain_deg: float


class NextReadings(Answer):
    """What is lost and enough as it is now, and every reading that may be next, the best first.

    `nearer` is None where no other stack is clearly nearer to the best than the one to fit next.
    """

    loss_deg: float
    enough_of_100: float
    peak_mean_deg: float
    meets_of_100: float
    ranked: list[NextReading]
    nearer: Nearer | None = None


class WheelReadings(Answer):
    """What may be read before anything is, of one wheel."""

    side: Side
    readings: NextReadings
