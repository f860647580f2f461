"""What a toe curve says is wrong: height or length, and which pivot cures it.

The direction map is common practice, checked on an exact model in the tests.
"""

import numpy as np
from msgspec import Struct

from geometry.toe_curve import toe_curve
from geometry.vectors import unit
from optimizer.car.adjust import UP
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import or_none
from optimizer.car.settings import Settings
from optimizer.models.diagnosis import Diagnosis, HeightCure, LengthCure, StaticDrift, Steers
from optimizer.units import MM_PER_INCH, Units

STEADY_DEG = 0.005  # a toe change below this is called none
# Height by which cars come to stand otherwise: load, or springs that settle.
DRIFT_MM: dict[Units, float] = {"mm": 10.0, "in": 0.5 * MM_PER_INCH}


def height_cure(slope: float, *, arms_ahead: bool) -> HeightCure:
    """Which way to move a pivot for a slope of toe, positive for toe-in in bump."""
    return "lower-outer" if (slope < 0.0) != arms_ahead else "raise-outer"


def length_cure(curvature: float, *, arms_ahead: bool) -> LengthCure:
    """What the rod's length asks for at a curvature, positive for toe-in both ways."""
    return "lengthen-rod" if (curvature < 0.0) != arms_ahead else "shorten-rod"


def static_drift(
    lower: float, higher: float, units: Units, tolerance_deg: float
) -> list[StaticDrift]:
    """What toe [rad] makes of a ride height `DRIFT_MM` lower and higher; none within the tolerance.

    NaN where it is not known.
    """
    changes = [or_none(float(np.degrees(change))) for change in (lower, higher)]
    if not any(change is not None and abs(change) > tolerance_deg for change in changes):
        return []
    return [StaticDrift(by_mm=DRIFT_MM[units], lower_deg=changes[0], higher_deg=changes[1])]


def drift_of(evaluator: Evaluator, setting: Settings) -> list[StaticDrift]:
    """How static toe of a wheel with one setting fitted drifts with ride height."""
    case = evaluator.case
    heights = DRIFT_MM[case.units] * np.array([1.0, 0.0, -1.0])
    lower, home, higher = evaluator.toe(setting, heights)[0]
    return static_drift(lower - home, higher - home, case.units, case.aim.tolerance_deg)


def diagnosis(evaluator: Evaluator) -> Diagnosis:
    """What the toe curve of a wheel as it is says is wrong.

    With the slope's and the curvature's share of the toe change at the end of the longer stroke; a
    part of the curve that stays within the case's tolerance asks for no cure.
    """
    travel, tolerance_deg = evaluator.travel, evaluator.case.aim.tolerance_deg
    change = evaluator.toe_change(Settings.single())
    figures, ahead = toe_curve(travel, change), evaluator.corner.arms_ahead
    by_height = by_length = ahead
    if evaluator.corner.on_beam:
        effects = pivot_effects(evaluator)
        by_height, by_length = effects.height_as_ahead, effects.length_as_ahead
    slope = float(np.degrees(figures.slope[0])) * float(np.abs(travel).max())
    curvature = float(np.degrees(figures.curvature[0]))
    cures_height, cures_length = abs(slope) > tolerance_deg, abs(curvature) > tolerance_deg
    return Diagnosis(
        arms="ahead" if ahead else "behind",
        steers_in_bump=_steers(float(np.degrees(change[0, -1]))),
        steers_in_droop=_steers(float(np.degrees(change[0, 0]))),
        slope_share_deg=slope,
        curvature_share_deg=curvature,
        height_cure=height_cure(slope, arms_ahead=by_height) if cures_height else None,
        length_cure=length_cure(curvature, arms_ahead=by_length) if cures_length else None,
        drift=drift_of(evaluator, Settings.single()),
    )


class PivotEffects(Struct, frozen=True):
    """What moving a pivot does to a toe curve, by the points.

    `lowered` is the slope that a millimeter of lower outer pivot adds [rad/mm per mm],
    `lengthened` the curvature that a millimeter of longer rod adds [rad per mm].
    """

    lowered: float
    lengthened: float

    @property
    def height_as_ahead(self) -> bool:
        """Whether height acts as it does with arms ahead of the axle."""
        return not self.lowered > 0.0

    @property
    def length_as_ahead(self) -> bool:
        """Whether the rod's length acts so."""
        return not self.lengthened > 0.0


def pivot_effects(evaluator: Evaluator) -> PivotEffects:
    """Try on the model what the direction map says of rods across the car alone.

    A drag link may run along it.
    """
    corner, travel = evaluator.corner, evaluator.travel
    still, away = np.zeros(3), unit(corner.inner - corner.outer_seat)
    tried = Settings(
        np.zeros(3),
        np.zeros(3),
        np.zeros(3, dtype=np.intp),
        outer_move=np.stack([still, -UP, still]),
        inner_move=np.stack([still, still, away]),
    )
    figures = toe_curve(travel, evaluator.toe_change(tried))
    return PivotEffects(
        float(figures.slope[1] - figures.slope[0]),
        float(figures.curvature[2] - figures.curvature[0]),
    )


def _steers(change_deg: float) -> Steers:
    if abs(change_deg) < STEADY_DEG:
        return "no change"
    return "toe-in" if change_deg > 0.0 else "toe-out"
