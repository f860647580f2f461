"""The toe curve that is wanted: a straight gain or a band, and how near is near enough."""

from collections.abc import Iterator
from itertools import pairwise
from math import degrees
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.quantities import (
    STEEPEST_DEG,
    Number,
    PositiveLength,
    PositiveNumber,
    Row,
    WheelAngle,
    rows_of_numbers,
)
from optimizer.units import Units

Band = tuple[Row, ...]
GAINS = ("toe_gain_deg_per_10mm", "toe_gain_minutes_per_10mm", "toe_gain_in_per_in")


def _band_rows(typed: Any, info: ValidationInfo) -> Band | None:
    """Take rows of a travel and two angles."""
    return None if typed is None else rows_of_numbers(typed, info, lengths=1)


class Also(FrozenModel):
    """What is wanted beside the toe curve straight ahead; limits like any other.

    Off center at the rack travels of `steering.check_at`, or halfway to both locks.
    """

    steered_deg: PositiveNumber | None = None
    """Largest toe change over the used travel with the rack off center. [deg]"""
    turn_toe_out_deg: tuple[WheelAngle, WheelAngle] | None = None
    """Least and most turn toe-out: how much farther the inner wheel of a turn is steered, each
    wheel against a mirror image of itself, also where both are measured. [deg]"""
    roll_steer: tuple[Number, Number] | None = None
    """Least and most roll steer gradient at ride height, positive where the wheels steer to the
    left as the body rolls to the right; takes the car's track. [deg per deg of roll]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        for key, unit in (("turn_toe_out_deg", " deg"), ("roll_steer", "")):
            within = getattr(self, key)
            if within is not None and within[0] >= within[1]:
                message = f"must be [least, most], got {within[0]:g} and {within[1]:g}{unit}"
                yield Fault(key, message)


class Aim(FrozenModel):
    """The toe curve that is wanted, and how near is near enough."""

    toe_gain_deg_per_10mm: WheelAngle = 0.0
    """Wanted slope of toe, positive for toe-in in bump. [deg per 10 mm]"""
    toe_gain_minutes_per_10mm: Number | None = None
    """The same in minutes of arc. [minutes per 10 mm]"""
    toe_gain_in_per_in: Number | None = None
    """The same as the trade has it: toe as a distance at a diameter, by travel. [in per in]"""
    toe_gain_diameter: PositiveLength | None = None
    """where the distance of toe_gain_in_per_in is taken: tire, rim flange or gauge plate"""
    tolerance_deg: PositiveNumber = 0.05
    """Largest departure from the wanted curve that is near enough. [deg]"""
    band: Annotated[Band | None, BeforeValidator(_band_rows)] = None
    """Rows [travel, least, most] of toe change from ride height, toe-in positive; a maker's or a
    team's, zero or not.  Its middle is aimed at. [mm, deg, deg]"""
    also: Also | None = None
    """What is to be kept beside that curve."""

    @property
    def gain_deg_per_10mm(self) -> float:
        """The wanted slope, in whatever unit it was given. [deg per 10 mm]"""
        if self.toe_gain_minutes_per_10mm is not None:
            return self.toe_gain_minutes_per_10mm / 60.0
        if self.toe_gain_in_per_in is not None and self.toe_gain_diameter is not None:
            return degrees(self.toe_gain_in_per_in / self.toe_gain_diameter) * 10.0
        return self.toe_gain_deg_per_10mm

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from list(self._odd_gain()) or self._not_a_band()

    def _odd_gain(self) -> Iterator[Fault]:
        given = [name for name in GAINS if getattr(self, name)]
        for name in given[1:]:
            yield Fault(name, f"must be left out where {given[0]} is given")
        if (self.toe_gain_in_per_in is None) != (self.toe_gain_diameter is None):
            missing, there = "toe_gain_diameter", "toe_gain_in_per_in"
            if self.toe_gain_in_per_in is None:
                missing, there = there, missing
            yield Fault(missing, f"must be given along with {there}")
        elif abs(self.gain_deg_per_10mm) > STEEPEST_DEG:
            message = f"must make at most {STEEPEST_DEG:g} deg per 10 mm of travel, "
            yield Fault(given[0], f"{message}got {self.gain_deg_per_10mm:.3g} deg")

    def _not_a_band(self) -> Iterator[Fault]:
        if self.band is None:
            return
        yield from list(_odd_rows(self.band)) or _odd_band(self.band)
        if self.gain_deg_per_10mm:
            message = "must be left out where a band is given; its middle is aimed at"
            yield Fault(next(x for x in GAINS if getattr(self, x)), message)


def _odd_rows(band: Band) -> Iterator[Fault]:
    for place, row in enumerate(band, start=1):
        if len(row) != 3 or row[1] > row[2]:
            message = "must be [travel, least, most], the least toe change first"
            yield Fault(f"band[{place}]", message)
        elif max(abs(row[1]), abs(row[2])) > STEEPEST_DEG:
            message = f"must hold toe changes of at most {STEEPEST_DEG:g} deg, in degrees"
            yield Fault(f"band[{place}]", message)


def _odd_band(band: Band) -> Iterator[Fault]:
    heights = [row[0] for row in band]
    if len(heights) < 2 or any(low >= high for low, high in pairwise(heights)):
        yield Fault("band", "must hold two heights or more, the lowest first")
        return
    for low, high in pairwise(band):
        if low[0] <= 0.0 <= high[0]:
            share = -low[0] / (high[0] - low[0])
            least, most = (low[k] + share * (high[k] - low[k]) for k in (1, 2))
            if not least <= 0.0 <= most:
                yield Fault(
                    "band",
                    f"must let toe change be 0 at travel 0, got {least:g} to {most:g} deg there\n"
                    "(it counts from ride height; take the static toe off a band that holds it)",
                )
                return
