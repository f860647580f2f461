"""What a gauge should show with a setting fitted, in the steps of the trade."""

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator, stepped_travel
from optimizer.car.settings import Settings
from optimizer.models.case import Case
from optimizer.models.suggest import Reading

READING_STEP_MM = 10.0
READING_STEP_IN_MM = 12.7  # half an inch


def reading_heights(case: Case) -> Array:
    """Heights to read over the used travel, ascending. [mm]."""
    step = READING_STEP_MM if case.units == "mm" else READING_STEP_IN_MM
    return stepped_travel(case.ride.bump, case.ride.droop, step)


def expected_readings(evaluator: Evaluator, settings: Settings) -> list[Reading]:
    """Toe change that a gauge should show with number 1 fitted, in the steps of the trade."""
    travel = reading_heights(evaluator.case)
    stepped = Evaluator(evaluator.case, evaluator.corner, travel, {})
    change = stepped.toe_change(settings.rows(np.array([-1])))[0]
    total = np.degrees(change + stepped.wanted)
    return [
        Reading(travel_mm=height, toe_change_deg=angle)
        for height, angle in zip(travel, total, strict=True)
    ]
