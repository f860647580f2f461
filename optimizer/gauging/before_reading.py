"""What to read first on a car that only a tape has seen."""

from collections.abc import Mapping

import numpy as np

from geometry.vectors import Array
from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.gauging.fit import unread
from optimizer.gauging.measured import USUAL_NOISE
from optimizer.gauging.measured_again import Spot, indices
from optimizer.gauging.next_reading import next_readings
from optimizer.gauging.next_stack import may_be_chosen, next_stack
from optimizer.models.case import Case
from optimizer.models.next_reading import Measured, WheelReadings
from optimizer.models.ride import Ride
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import space_of

STEP_MM = 10.0  # between the heights of a sweep; common practice, no source


def readings_before(vehicle: Vehicle, seed: int = 0) -> list[WheelReadings]:
    """Rank what may be read before anything is, of each measured wheel.

    Parameters
    ----------
    vehicle : Vehicle
        As measured by tape; nothing is fitted to it yet.
    seed : int
        Of the draw of possible cars.

    Returns
    -------
    list of WheelReadings
        Without a wheel where nothing that can be built keeps every limit.
    """
    found = [_of_wheel(case, seed, mirrored=not vehicle.both_wheels) for case in vehicle.wheels]
    return [one for one in found if one is not None]


def _of_wheel(case: Case, seed: int, *, mirrored: bool) -> WheelReadings | None:
    tape, now = Evaluator.of(alignment_of(case)[0]), Settings.single()
    fit, space = unread(tape), space_of(tape.case)
    chosen = next_stack(tape, fit, space, now, seed)
    if chosen is None:
        return None
    ranking = next_readings(
        tape,
        fit,
        others=may_be_chosen(tape, space, now),
        chosen=chosen.setting,
        now=now,
        noise=USUAL_NOISE,
        heights=_heights(tape.case.ride),
        mirrored=mirrored,
        seed=seed,
    )
    again = {Spot(tuple(x.points), x.axis): None for one in ranking.ranked for x in one.measured}
    shares = indices(tape, chosen.setting, list(again), seed) if again else {}
    ranked = [
        one.model_copy(
            update={"by_tape": True, "measured": [_with_shares(x, shares) for x in one.measured]}
        )
        for one in ranking.ranked
    ]
    return WheelReadings(side=case.side, readings=ranking.model_copy(update={"ranked": ranked}))


def _with_shares(one: Measured, shares: Mapping[Spot, tuple[float, float]]) -> Measured:
    first, total = shares[Spot(tuple(one.points), one.axis)]
    return one.model_copy(update={"first_order": first, "total_order": total})


def _heights(ride: Ride) -> Array:
    """Heights of a sweep from end to end of the used travel, ride height among them. [mm]."""
    between = STEP_MM * np.arange(-(ride.droop // STEP_MM), ride.bump // STEP_MM + 1.0)
    return np.unique([-ride.droop, *between, ride.bump])
