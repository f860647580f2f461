"""What was read beside a sweep of toe, as observations: each kind of reading as its rows.

To add a kind: its table in `optimizer.models.beside_toe`, its rows here, its slips in
`optimizer.gauging.slips_beside_toe`.
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped
from optimizer.car.settings import Settings
from optimizer.gauging.conversions import gauge_columns, gauge_of, wheel_travel
from optimizer.gauging.fit import Foretold, foretold_by_tape
from optimizer.gauging.observation import (
    Bools,
    Observation,
    camber,
    sideways,
    toe,
    toe_by,
    turned_out,
)
from optimizer.models.beside_toe import RodTurned, Sideways
from optimizer.models.quantities import Row
from optimizer.models.read_beside import Unreached
from optimizer.models.readings import Readings
from optimizer.units import MM_PER, Side
from optimizer.wording.refused_readings import Reason, refused


def beside_toe(
    readings: Readings, fitted: Settings, noise: float, kept: Bools, tape: Evaluator
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
    kept : (N,) bool array
        Rows of the sweep that don't stand apart.
    tape : Evaluator
        The case as measured by tape.
    """
    found = {
        f"rod_turned[{place}]": _rod_turned(turned, readings, fitted, noise, tape)
        for place, turned in enumerate(readings.rod_turned, start=1)
    }
    if readings.sideways is not None:
        found["sideways"] = _sideways(readings.sideways, readings, fitted, kept)
    if readings.camber is not None:
        travel, angle = _at_heights(readings, readings.camber.readings)
        off = np.radians(readings.camber.noise_deg)
        found["camber"] = Observation.of(camber, fitted, np.radians(angle), off, travel=travel)
    if readings.steered is not None or readings.turn_toe_out is not None:
        found |= _on_plates(readings, fitted, tape)
    if (swept := readings.caster_sweep) is not None:
        angles = np.radians([swept.camber_out_deg, swept.camber_in_deg])
        held = np.radians([-swept.steer_deg, swept.steer_deg])
        off = np.radians(swept.noise_deg)
        found["caster_sweep"] = Observation.of(camber, fitted, angles, off, toe=held)
    return found


def _at_heights(readings: Readings, rows: Sequence[Row]) -> tuple[Array, Array]:
    """Wheel travel of rows of two numbers, and the second ones, (N,) each."""
    height, seen = np.array(rows).T
    return np.array([readings.travel_at(one) for one in height]), seen


def _sideways(moved: Sideways, readings: Readings, fitted: Settings, kept: Bools) -> Observation:
    """Rows of one dial, or of the mean of the sweep's two; outboard positive. [mm]."""
    if moved.both_dials:
        grows = readings.reading_grows
        travel, shown = wheel_travel(readings)[kept], gauge_columns(readings)[kept].mean(axis=1)
    else:
        grows = moved.reading_grows
        travel, shown = _at_heights(readings, moved.dial)
    outboard = shown if grows == "outboard" else -shown
    eye = sideways(moved.ahead)
    return Observation.of(eye, fitted, outboard, moved.noise, travel=travel, length=True)


def _on_plates(readings: Readings, fitted: Settings, tape: Evaluator) -> dict[str, Observation]:
    """What turn plates told: of this wheel, and of both."""
    found, measured = {}, tape.case.side
    side = readings.side or measured
    if (steered := readings.steered) is not None:
        moved, angle = np.array(steered.readings).T
        rack = moved * steered.per_step * (1.0 if side == measured else -1.0)
        toed = np.radians(angle) * sign_as_typed("steered", side)
        off = np.radians(steered.noise_deg)
        found["steered"] = Observation.of(toe, fitted, toed, off, rack=rack)
    if (out := readings.turn_toe_out) is not None:
        moved, angle = np.array(out.readings).T
        rack, off = moved * out.per_step, np.radians(out.noise_deg)
        found["turn_toe_out"] = turned_out_at(tape, fitted, rack, np.radians(angle), off)
    return found


def sign_as_typed(key: str, side: Side) -> float:
    """What makes an angle as geometry counts it into one as a file does, and back.

    Geometry knows left wheels only: one that steers to the left toes out.
    """
    return -1.0 if key == "steered" and side == "left" else 1.0


def turned_out_at(
    tape: Evaluator, fitted: Settings, rack: Array, seen: Array, noise: float
) -> Observation:
    """Toe-out on turns at rack travels (N,), the other wheel on the beam or a mirror image."""
    return Observation.of(
        turned_out, fitted, seen, noise, rack=rack, zero=False, mirrored=not tape.corner.on_beam
    )


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


def reached_beside(
    tape: Evaluator, beside: Mapping[str, Observation], readings: Readings
) -> tuple[dict[str, Bools], dict[str, Foretold]]:
    """Which rows can be reached, (N,), by the key of each reading that has others too.

    And what the points by tape foretell of those that can be, of every reading.

    Raises
    ------
    PivotwrightError
        What is left of one tells nothing.
    """
    by_tape = dict(zip(beside, foretold_by_tape(tape, [*beside.values()]), strict=True))
    found = {}
    for (key, one), (foretold, rates) in zip(beside.items(), [*by_tape.values()], strict=True):
        reached = np.isfinite(foretold) & np.isfinite(rates).all(axis=1)
        if reached.all():
            continue
        if not one.of_rows(reached).tells:
            reason: Reason = "out-of-reach" if _own_dials(key, readings) else "unreached-beside"
            raise refused(readings, reason, key=key)
        found[key], by_tape[key] = reached, (foretold[reached], rates[reached])
    return found, by_tape


def unreached_beside(readings: Readings, reached: Mapping[str, Bools]) -> Iterator[Unreached]:
    """Name the rows that are left out, but for those that the sweep itself asks about."""
    for key, rows in reached.items():
        if not _own_dials(key, readings):
            lost = tuple((np.flatnonzero(~rows) + 1).tolist())
            yield Unreached(sweep=readings.name, key=key, rows=lost)


def _own_dials(key: str, readings: Readings) -> bool:
    """Whether the rows are those of the sweep's own two dials."""
    return key == "sideways" and readings.sideways is not None and readings.sideways.both_dials
