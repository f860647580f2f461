"""What was read beside a sweep of toe, as observations: rod turned, camber, steer angles, caster.

To add a kind: its table in `optimizer.models.beside_toe`, its rows here, its slips in
`optimizer.gauging.slips_beside_toe`.
"""

from dataclasses import replace

import numpy as np

from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped
from optimizer.car.settings import Settings
from optimizer.gauging.conversions import gauge_of
from optimizer.gauging.observation import Observation, camber, toe, toe_by
from optimizer.models.beside_toe import RodTurned
from optimizer.models.readings import Readings
from optimizer.units import MM_PER


def beside_toe(
    readings: Readings, fitted: Settings, noise: float, tape: Evaluator
) -> dict[str, Observation]:
    """What a readings file holds beside its sweep, by the key that it stands under.

    Parameters
    ----------
    readings : Readings
        Of the measured wheel, or of the other one as its mirror image.
    fitted : Settings
        What was fitted, a batch of one.
    noise : float
        One standard deviation of a toe reading of the sweep. [rad]
    tape : Evaluator
        The case as measured by tape.
    """
    side = readings.side or tape.case.side
    found = {
        f"rod_turned[{place}]": _rod_turned(turned, readings, fitted, noise, tape)
        for place, turned in enumerate(readings.rod_turned, start=1)
    }
    if readings.camber is not None:
        travel, angle = np.array(readings.camber.readings).T
        travel = np.array([readings.travel_at(height) for height in travel])
        off = np.radians(readings.camber.noise_deg)
        found["camber"] = Observation.of(camber, fitted, np.radians(angle), off, travel=travel)
    if readings.steered is not None:
        rack, angle = np.array(readings.steered.readings).T
        rack = rack * (readings.steered.rack_per_turn or 1.0)
        # Geometry knows left wheels only: one that steers to the left toes out.
        toed = np.radians(angle) * (-1.0 if side == "left" else 1.0)
        rack = rack if side == tape.case.side else -rack
        off = np.radians(readings.steered.noise_deg)
        found["steered"] = Observation.of(toe, fitted, toed, off, rack=rack)
    if (swept := readings.caster_sweep) is not None:
        angles = np.radians([swept.camber_out_deg, swept.camber_in_deg])
        held = np.radians([-swept.steer_deg, swept.steer_deg])
        off = np.radians(swept.noise_deg)
        found["caster_sweep"] = Observation.of(camber, fitted, angles, off, toe=held)
    return found


def _rod_turned(
    turned: RodTurned, readings: Readings, fitted: Settings, noise: float, tape: Evaluator
) -> Observation:
    """Toe before and after; how far the turns are known counts with the second."""
    gauge, by = gauge_of(readings), turned.turned_by
    longer = np.array([-by, 0.0] if turned.reset else [0.0, by])
    if turned.before is not None and turned.after is not None:
        shown = np.array([turned.before, turned.after])
        numbers = shown[:, -1] - shown[:, 0] if shown.shape[1] > 1 else shown[:, 0]
        scale = 1.0 if readings.kind == "angle" else MM_PER[readings.units]
        seen, eye = gauge.toe(numbers * scale), toe_by(gauge)
    else:
        seen, eye = np.radians(turned.toes_deg), toe
        noise = float(np.radians(turned.toe_noise_deg))
    plain = Observation.of(eye, fitted, seen, noise, longer=longer)
    if not turned.known_to:
        return plain
    more = abs(rate_of_rod(tape, fitted, by)) * turned.known_to
    return replace(plain, noise=np.hypot(noise, np.array([0.0, more])))


def rate_of_rod(tape: Evaluator, fitted: Settings, longer: float) -> float:
    """Toe that a millimeter of rod makes by the points as measured; 0 out of reach. [rad/mm]."""
    rows = Observation.of(toe, fitted, np.zeros(2), 1.0, longer=np.array([0.0, longer]))
    first, second = rows.foretold(tape, as_taped(tape))[0]
    return float(np.nan_to_num((second - first) / longer))
