"""What is said of a pivot made to measure."""

from typing import Literal

from optimizer.models.answer import Answer, Fact
from optimizer.models.cautions import Worsened
from optimizer.models.comparison import Axis
from optimizer.models.setting import Fitted, Option, Uncertainty, WheelSetting
from optimizer.models.stops import LimitKind

PivotName = Literal["outer", "inner"]


class HeldByLimit(Fact):
    """A limit that a custom pivot stands at: more would break it; `name` is as in a `Stop`."""

    kind: LimitKind
    name: str


class HeldByRoom(Fact):
    """A side of its room that a custom pivot stands at, `move_mm` from its standard place."""

    kind: Literal["room"] = "room"
    pivot: PivotName
    axis: Axis
    move_mm: float


class MayBreak(Fact):
    """A limit that a custom pivot may break where it is off by its tolerances."""

    kind: LimitKind
    name: str


class Farther(Answer):
    """One coordinate by which a pivot would have to move farther. [mm]."""

    pivot: PivotName
    axis: Axis
    move_mm: float


class LeftByRule(Fact):
    """Peak that a pivot leaves because a millimeter of move must save 0.001 deg. [deg].

    It would be `gain_deg` less if the coordinates moved farther by so much.
    """

    moves: tuple[Farther, ...]
    gain_deg: float


class Coordinate(Answer):
    """One coordinate of a custom pivot, from its standard place along the axes of the points.

    `tolerance_mm` is how far it may be off, to either side, while the others are exact,
    `tolerance_together_mm` while all are off by as much at once; the peak then stays within the
    wanted tolerance.  Both are 0 where the pivot itself does not, and end at 25 mm.  `place_mm` is
    the coordinate itself, at the pose that was measured, with all that is fitted beside it;
    `room_mm` the least and greatest move.
    """

    pivot: PivotName
    axis: Axis
    move_mm: float
    place_mm: float
    room_mm: tuple[float, float]
    tolerance_mm: float
    tolerance_together_mm: float


class TurnToeOut(Answer):
    """Steer angle of the inner wheel of a turn minus that of the outer one, both from straight.

    Where one wheel was measured the other side is a mirror image; of both, the one that the figure
    stands with is the inner one.  None where the linkage can't follow.
    """

    rack_travel_mm: float
    before_deg: float | None
    after_deg: float | None


class SteeringCost(Answer):
    """What a custom pivot changes in the steering, against the car as it is.

    The rates are steer angle of this wheel per rack travel, straight ahead at ride height; more
    means quicker steering.  `worsened` is what would be a caution if it were number 1.
    """

    rate_before_deg_per_mm: float
    rate_after_deg_per_mm: float
    rate_change_percent: float
    turn_toe_out: list[TurnToeOut]
    worsened: list[Worsened]


class TradedWheel(Fitted):
    """What a trade-off fits at one wheel; `moves_mm` are x, y, z of the outer pivot, then inner."""

    moves_mm: list[float]
    steer_rate_change_percent: float | None


class TradeOff(Answer):
    """A custom pivot that no other one found beats on peak, change, clearance and steering ratio.

    `change_mm` adds up how far pivots, stack, rack and ball joint move, at every wheel.
    """

    kit: str | None = None
    peak_toe_change_deg: float
    change_mm: float
    clearance_mm: float | None
    wheels: list[TradedWheel]


class CustomWheel(WheelSetting):
    """The pivot made to measure for one wheel, with what it asks for and what it costs.

    `outer_drop_mm` is a stack on top of it, 0 where it takes the stack's place.  `held_by` names
    the limits and the sides of the room that it stands at, `limits_within_tolerance` those that it
    may break where it is off by its tolerances; `left_by_rule` is None where that is less than half
    of what a gauge tells apart; `steering` is None on a rear axle.
    """

    coordinates: list[Coordinate]
    limits_within_tolerance: list[MayBreak]
    held_by: list[HeldByLimit | HeldByRoom]
    left_by_rule: LeftByRule | None
    steering: SteeringCost | None
    uncertainty: Uncertainty
    toe_change_deg: list[float]


class CustomPivot(Option):
    """The best pivot made to measure, at every wheel measured.

    `kit` is the kit whose joint, stud and stack it carries, None where no kits were asked for.
    `change_mm` adds up how far pivots, stack, rack and ball joint move;
    `best_stack_peak_toe_change_deg` is the least peak of the options without a custom pivot, None
    where none fits.  The options are not finite in number, so there is no certificate.
    """

    wheels: list[CustomWheel]  # type: ignore[assignment]
    best_stack_peak_toe_change_deg: float | None
    change_mm: float
    trade_offs: list[TradeOff]
    certificate: Literal["none"] = "none"
    study_trials: int
    pivots_scored: int
