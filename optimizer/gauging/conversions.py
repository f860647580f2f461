"""Gauge readings to toe and back: every gauge is one number, one length and one formula.

For a plate square to the axle and two dials a distance D apart along the car, the difference of
the readings is ``D tan(toe)`` whatever camber and track do: the plate's plane says so.  A single
fixed dial, or one laser target, also sees the wheel move sideways (see `seen`).
"""

from collections.abc import Callable
from typing import Literal

import numpy as np
from msgspec import Struct

from geometry.vectors import Array
from optimizer.models.gauge import GaugeNumber, NumberName
from optimizer.models.readings import Readings
from optimizer.units import MM_PER

SMALL = 1e-6  # of a gauge's number: so small that its formula is a straight line
STEPS = (1.0, 0.5, 0.25, 0.2, 0.125, 0.1, 0.0625, 0.05, 0.03125, 0.025, 0.02, 0.01)
ROUNDED = 1e-9  # from a whole multiple of a step
FEWEST_ROUNDED = 4  # numbers that are not 0: fewer may be whole multiples by chance

Formula = Callable[[Array], Array]


class Gauge(Struct, frozen=True):
    """How one gauge tells toe: ``toe = formula(number / length)``, and back by `inverse`.

    `length` carries the sign that makes toe-in positive; `name` says what the number is.  Where
    the gauge also sees the wheel move, `fixed` is what stands still and `ahead` where it stands
    along the car, ahead of the axle positive; of a wall, how far beside the wheel.  `behind` is how
    far behind the axle a second target stands, 0 where there is none. [mm]
    """

    name: NumberName
    length: float
    formula: Formula
    inverse: Formula
    fixed: Literal["dial", "target", "wall"] | None = None
    ahead: float = 0.0
    behind: float = 0.0

    def toe(self, numbers: Array) -> Array:
        """Toe of one wheel for the gauge's numbers, (N,) to (N,). [rad]."""
        return self.formula(numbers / self.length)

    def number(self, toe: Array) -> Array:
        """What the gauge shows for a toe of one wheel, (N,) to (N,)."""
        return self.length * self.inverse(toe)


def gauge_of(readings: Readings) -> Gauge:
    """Describe the gauge that a readings file was taken with."""
    kind = readings.kind
    if kind == "angle":
        per_deg = 60.0 if readings.angle_unit == "min" else 1.0
        wheels = 2.0 if readings.total else 1.0
        name: NumberName = "toe of both wheels" if readings.total else "toe"
        sign = -1.0 if readings.reading_grows == "toe-out" else 1.0
        return Gauge(name, sign * np.degrees(1.0) * per_deg * wheels, _same, _same)
    if kind == "toe-plates":
        return Gauge("rear - front", 2.0 * _across(readings), np.arcsin, np.sin)
    sign = _sign(readings)
    if kind == "string":
        return Gauge("rear - front", sign * _across(readings), np.arcsin, np.sin)
    if kind == "wall":
        # The spin axis meets the wall ahead of the wheel where it toes in, whatever its camber.
        distance = _given(readings.wall_distance)
        return Gauge("spot", sign * distance, np.arctan, np.tan, "wall", distance)
    if kind == "two-dial":
        return Gauge("rear - front", sign * _given(readings.spacing), np.arctan, np.tan)
    if kind == "mirror":
        return Gauge("spot", sign * _given(readings.target_distance), _half_arctan, _tan_of_double)
    if kind == "dial-and-roller":
        return Gauge("dial", sign * _given(readings.spacing), np.arctan, np.tan)
    if kind == "single-dial":
        distance = _given(readings.dial_distance)
        ahead = distance if readings.dial_at == "front" else -distance
        return Gauge("dial", sign * distance, np.arctan, np.tan, "dial", ahead)
    return _laser(readings, sign)


def _across(readings: Readings) -> float:
    """Length over which toe was read; off a tire below its center, the chord there. [mm]."""
    spacing, below = _given(readings.spacing), 2.0 * (readings.below_center or 0.0)
    return float(np.sqrt(spacing**2 - below**2))


def gauge_number(readings: Readings) -> GaugeNumber:
    """Name the number that tells toe, and the unit in which the file writes it."""
    name = gauge_of(readings).name
    if readings.kind == "angle":
        return GaugeNumber(name=name, unit=readings.angle_unit)
    return GaugeNumber(name=name, unit=readings.units)


def _laser(readings: Readings, sign: float) -> Gauge:
    ahead, behind = readings.target_ahead, readings.target_behind
    if ahead is not None and behind is not None:
        apart = sign * (ahead + behind)
        return Gauge("behind - ahead", apart, np.arctan, np.tan, "target", ahead, behind)
    place = ahead if ahead is not None else -_given(behind)
    return Gauge("spot", sign * abs(place), np.arctan, np.tan, "target", place)


def _sign(readings: Readings) -> float:
    """+1 where the gauge's number grows with toe-in, else -1."""
    if readings.reading_grows in ("forward", "rearward"):
        return 1.0 if readings.reading_grows == "forward" else -1.0
    if readings.reading_grows in ("toe-in", "toe-out"):
        return 1.0 if readings.reading_grows == "toe-in" else -1.0
    # A toed-in wheel has its front inboard and its rear outboard.
    return 1.0 if (readings.reading_grows == "outboard") == _tells_rear(readings) else -1.0


def _tells_rear(readings: Readings) -> bool:
    """Whether the number grows with what moves behind the axle: always so for a difference."""
    if readings.kind in ("dial-and-roller", "single-dial"):
        return readings.dial_at == "rear"
    return len(readings.columns) == 3 or readings.target_ahead is None


def gauge_columns(readings: Readings) -> Array:
    """What the gauge showed in each row without the travel, turns counted, (N, C)."""
    columns = _as_typed(readings)
    return columns + uncounted_turns(readings) * (readings.revolution or 0.0)


def _as_typed(readings: Readings) -> Array:
    """What the gauge showed in each row without the travel, (N, C)."""
    return np.array([row[1:] for row in readings.readings])


def uncounted_turns(readings: Readings) -> Array:
    """Turns of the hand that each dial's reading lacks, whole numbers (N, C), 0 at the lowest row.

    From one height to the next a hand is taken to move less than half a turn.
    """
    columns = _as_typed(readings)
    if readings.revolution is None:
        return np.zeros(columns.shape)
    order = np.argsort(wheel_travel(readings), kind="stable")
    unwrapped = np.unwrap(columns[order], period=readings.revolution, axis=0)
    turns = np.empty(columns.shape)
    turns[order] = np.round((unwrapped - columns[order]) / readings.revolution)
    return turns


def gauge_numbers(readings: Readings) -> Array:
    """The one number of each row that tells toe, (N,): a dial, a spot, or rear less front."""
    columns = gauge_columns(readings)
    numbers: Array = columns[:, -1] - columns[:, 0] if columns.shape[1] > 1 else columns[:, 0]
    return numbers


def toe_readings(readings: Readings) -> Array:
    """Toe of one wheel at each row, toe-in positive, up to the gauge's zero, (N,). [rad].

    NaN where a distance is longer than the gauge.
    """
    with np.errstate(invalid="ignore"):
        return gauge_of(readings).toe(gauge_numbers(readings))


def as_read(readings: Readings, numbers: Array) -> Array:
    """Write the gauge's numbers in the unit in which its rows are written, (N,) to (N,)."""
    return numbers if readings.kind == "angle" else numbers / MM_PER[readings.units]


def reading_noise(readings: Readings) -> float | None:
    """One standard deviation of toe near zero for the stated noise; None if not stated. [rad]."""
    noise = readings.noise_of_number
    return None if noise is None else _as_toe(readings, noise)


def rounding_noise(readings: Readings) -> float:
    """One standard deviation of toe near zero that comes of how coarsely rows are written. [rad].

    The coarsest step that all numbers are whole multiples of; 0 where too few tell.
    """
    rows = _as_typed(readings)
    if np.count_nonzero(rows) < FEWEST_ROUNDED:
        return 0.0
    steps = (step for step in STEPS if np.abs(rows - step * np.round(rows / step)).max() < ROUNDED)
    off = next(steps, 0.0) * (rows.shape[1] / 12.0) ** 0.5
    return _as_toe(readings, off)


def push_pull(readings: Readings) -> float | None:
    """Toe between pushing and pulling the wheel; None where that was not read. [rad]."""
    return None if readings.play is None else _as_toe(readings, readings.play)


def _as_toe(readings: Readings, number: float) -> float:
    """Toe near zero of a small number as the file writes it. [rad]."""
    in_mm = number if readings.kind == "angle" else number * MM_PER[readings.units]
    return in_mm * abs(float(gauge_of(readings).toe(np.array(SMALL)))) / SMALL


def wheel_travel(readings: Readings) -> Array:
    """Wheel travel of each row, positive in bump, (N,). [mm]."""
    return np.array([readings.travel_at(row[0]) for row in readings.readings])


def _given(length: float | None) -> float:
    """Length that the model has made sure of."""
    if length is None:
        raise ValueError("the readings model lets no gauge through without its length")
    return length


def _same(angle: Array) -> Array:
    return angle


def _half_arctan(share: Array) -> Array:
    return 0.5 * np.arctan(share)


def _tan_of_double(toe: Array) -> Array:
    return np.tan(2.0 * toe)
