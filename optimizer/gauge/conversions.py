"""Gauge readings to toe and back: every gauge is one number, one length and one formula.

For a plate square to the axle and two dials a distance D apart along the car, the difference of
the readings is ``D tan(toe)`` whatever camber and track do: the plate's plane says so.  A single
fixed dial, or one laser target, also sees the wheel move sideways, which its owner must know.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.models.readings import Readings

Formula = Callable[[Array], Array]


@dataclass(frozen=True)
class Gauge:
    """How one gauge tells toe: ``toe = formula(number / length)``, and back by `inverse`.

    `length` carries the sign that makes toe-in positive; `name` says what the number is.
    """

    name: str
    length: float
    formula: Formula
    inverse: Formula

    def toe(self, numbers: Array) -> Array:
        """Toe of one wheel for the gauge's numbers, (N,) to (N,). [rad]."""
        return self.formula(numbers / self.length)

    def number(self, toe: Array) -> Array:
        """What the gauge shows for a toe of one wheel, (N,) to (N,)."""
        return self.length * self.inverse(toe)


def gauge_of(readings: Readings) -> Gauge:
    """Describe the gauge that a readings file was taken with."""
    grows_outboard = readings.reading_grows == "outboard"
    if readings.reading_grows in ("toe-in", "toe-out"):
        sign = 1.0 if readings.reading_grows == "toe-in" else -1.0
    else:
        # A toed-in wheel has its front inboard and its rear outboard.
        at_rear = _looks_behind(readings)
        sign = 1.0 if grows_outboard == at_rear else -1.0
    kind = readings.kind
    if kind == "angle":
        wheels, per_deg = (2.0 if readings.total else 1.0), 60.0
        unit = np.radians(1.0 / (per_deg if readings.angle_unit == "min" else 1.0) / wheels)
        return Gauge(readings.angle_unit, float(1.0 / unit), _same, _same)
    if kind == "mirror":
        return Gauge("spot", sign * _given(readings.target_ahead), _half_arctan, _tan_of_double)
    if kind == "toe-plates":
        return Gauge("rear - front", 2.0 * _given(readings.spacing), np.arcsin, np.sin)
    if kind == "string":
        return Gauge("rear - front", sign * _given(readings.spacing), np.arcsin, np.sin)
    if kind == "two-dial":
        return Gauge("rear - front", sign * _given(readings.spacing), np.arctan, np.tan)
    if kind == "laser":
        targets = (readings.target_ahead or 0.0) + (readings.target_behind or 0.0)
        name = "behind - ahead" if len(readings.columns) == 3 else "spot"
        return Gauge(name, sign * targets, np.arctan, np.tan)
    length = readings.spacing if kind == "dial-and-roller" else readings.dial_distance
    return Gauge("dial", sign * _given(length), np.arctan, np.tan)


def gauge_numbers(readings: Readings) -> Array:
    """The one number of each row that tells toe, (N,): a dial, a spot, or rear less front."""
    columns = np.array([row[1:] for row in readings.readings])
    if readings.revolution is not None:
        columns = np.unwrap(columns, period=readings.revolution, axis=0)
    numbers: Array = columns[:, -1] - columns[:, 0] if columns.shape[1] > 1 else columns[:, 0]
    return numbers


def toe_readings(readings: Readings) -> Array:
    """Toe of one wheel at each row, toe-in positive, up to the gauge's zero, (N,). [rad]."""
    return gauge_of(readings).toe(gauge_numbers(readings))


def wheel_travel(readings: Readings) -> Array:
    """Wheel travel of each row, positive in bump, (N,). [mm]."""
    column = np.array([row[0] for row in readings.readings])
    if readings.travel_is == "travel" or readings.at_ride_height is None:
        return column
    # The hub comes nearer to the arch in bump; a hub swept on stands rises from the floor.
    sign = -1.0 if readings.travel_is == "hub-to-arch" else 1.0
    return sign * (column - readings.at_ride_height)


def _looks_behind(readings: Readings) -> bool:
    """Whether the number grows with what moves behind the axle: always so for a difference."""
    if readings.kind in ("dial-and-roller", "single-dial"):
        return readings.dial_at == "rear"
    if readings.kind == "mirror" or len(readings.columns) == 2:
        return readings.target_ahead is None
    return True


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
