"""Toe to set now, so that it is right when the car has settled."""

import numpy as np

from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import or_none
from optimizer.car.ride_heights import case_at
from optimizer.car.settings import Settings
from optimizer.models.diagnosis import Settling


def settling(evaluator: Evaluator, setting: Settings) -> Settling | None:
    """What to set on a wheel with one setting fitted; None where the car is not to settle.

    The rod is that which gives the static toe once the car is down, so it is asked for there and
    the wheel let down to where it hangs now.
    """
    case = evaluator.case
    by = case.ride.settles_by
    if not by:
        return None
    settled = Evaluator(
        case_at(case, case.ride.lowered_by + by), evaluator.corner, np.array([-by, 0.0]), {}
    )
    now = float(np.degrees(settled.toe(setting, settled.travel)[0, 0]))
    return Settling(
        side=case.side,
        settles_by_mm=by,
        toe_deg=float(np.degrees(settled.static_toe)),
        set_deg=or_none(now),
    )
