"""What is said of a pivot made to measure."""

from typing import Literal

from optimizer.models.answer import Answer
from optimizer.models.setting import Setting, Uncertainty


class Coordinate(Answer):
    """One coordinate of a custom pivot, from its standard place along the axes of the points.

    `tolerance_mm` is how far it may be off, to either side, while the others are exact,
    `tolerance_together_mm` while all are off by as much at once; the peak then stays within the
    wanted tolerance.  Both are 0 where the pivot itself does not, and end at 25 mm.
    """

    pivot: Literal["outer", "inner"]
    axis: Literal["x", "y", "z"]
    move_mm: float
    tolerance_mm: float
    tolerance_together_mm: float


class TurnToeOut(Answer):
    """Steer angle of the inner wheel of a turn minus that of the outer one, both from straight.

    The other side of the car is taken as a mirror image; None where the linkage can't follow.
    """

    rack_travel_mm: float
    before_deg: float | None
    after_deg: float | None


class SteeringCost(Answer):
    """What a custom pivot changes in the steering, against the car as it is.

    The rates are steer angle of this wheel per rack travel, straight ahead at ride height; more
    means quicker steering.
    """

    rate_before_deg_per_mm: float
    rate_after_deg_per_mm: float
    rate_change_percent: float
    turn_toe_out: list[TurnToeOut]


class TradeOff(Answer):
    """A custom pivot that no other one found beats on peak, change, clearance and steering ratio.

    `moves_mm` are x, y, z of the outer pivot, then of the inner one; `change_mm` adds up how far
    pivots, stack, rack and ball joint move.  `kit` is as for the pivot that it is traded against.
    """

    kit: str | None = None
    moves_mm: list[float]
    outer_drop_mm: float
    rack_raise_mm: float
    ball_joint_drop_mm: float
    frame_bracket_raise_mm: float = 0.0
    axle_bracket_raise_mm: float = 0.0
    peak_toe_change_deg: float
    change_mm: float
    clearance_mm: float | None
    steer_rate_change_percent: float | None


class CustomPivot(Setting):
    """The best pivot made to measure, with what it asks for and what it costs.

    `kit` is the kit whose joint, stud and stack it carries, None where no kits were asked for.
    `outer_drop_mm` is a stack on top of it, 0 where it takes the stack's place.  `held_by` names
    the limits and the sides of the room that it stands at, `limits_within_tolerance` those that it
    may break where it is off by its tolerances, `steering` is None on a rear axle, `change_mm` adds
    up how far pivots, stack, rack and ball joint move.
    `best_stack_peak_toe_change_deg` is the least peak of the settings without a custom pivot, None
    where none fits.  The settings are not finite in number, so there is no certificate.
    """

    kit: str | None = None
    coordinates: list[Coordinate]
    limits_within_tolerance: list[str]
    held_by: list[str]
    steering: SteeringCost | None
    best_stack_peak_toe_change_deg: float | None
    uncertainty: Uncertainty
    toe_change_deg: list[float]
    change_mm: float
    trade_offs: list[TradeOff]
    certificate: Literal["none"] = "none"
    study_trials: int
    pivots_scored: int
