"""What a readings file may hold beside the toe of its sweep: each tells of the car what toe can't.

Every table is optional, and is of the wheel, the parts and the ride height of the sweep.
"""

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StrictBool, ValidationInfo, field_validator

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel, number, refuse
from optimizer.models.quantities import (
    LEAST_STEP_MM,
    Adjustment,
    Number,
    PositiveLength,
    PositiveNumber,
    Row,
    WheelAngle,
    between,
    rows_of_numbers,
)
from optimizer.units import MM_PER_INCH, Units

LARGEST_LOCK_DEG = 60.0
LEAST_STEER_DEG = 5.0
SteerAngle = Annotated[PositiveNumber, between(LEAST_STEER_DEG, LARGEST_LOCK_DEG, "deg")]


def _at_heights(typed: Any, info: ValidationInfo) -> tuple[Row, ...]:
    """Take rows of a height and an angle; every faulty row is named."""
    return _apart(_pairs(rows_of_numbers(typed, info, lengths=1)), "heights")


def _at_racks(typed: Any, info: ValidationInfo) -> tuple[Row, ...]:
    """Take rows of a rack travel, or turns for it, and an angle; every faulty row is named."""
    return _pairs(rows_of_numbers(typed, info, lengths=0 if info.data.get("rack_per_turn") else 1))


def _lengths(typed: Any, info: ValidationInfo) -> tuple[Row, ...]:
    """Take rows of two lengths; every faulty row is named."""
    rows = _pairs(rows_of_numbers(typed, info))
    return _apart(rows, "heights") if rows else rows


def _apart(rows: tuple[Row, ...], places: str, per_step: float = 1.0) -> tuple[Row, ...]:
    """Take rows at two places or more; what shares an unknown zero tells nothing at one."""
    first = [row[0] * per_step for row in rows]
    if max(first, default=0.0) - min(first, default=0.0) < LEAST_STEP_MM:
        raise ValueError(
            f"must be at two different {places} or more\n"
            "(only the change between them tells anything, for the zero is not known)"
        )
    return rows


def _pairs(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    refuse(
        Fault(f"[{place}]", f"must be two numbers, got {len(row)}")
        for place, row in enumerate(rows, start=1)
        if len(row) != 2
    )
    return rows


def _one_or_more(typed: Any) -> tuple[float, ...]:
    """Take what the gauge showed, one number or one for each column."""
    return tuple(map(number, typed if isinstance(typed, list | tuple) else [typed]))


AtHeights = Annotated[tuple[Row, ...], BeforeValidator(_at_heights)]
AtRacks = Annotated[tuple[Row, ...], BeforeValidator(_at_racks)]
Lengths = Annotated[tuple[Row, ...], BeforeValidator(_lengths)]
Shown = Annotated[tuple[float, ...], BeforeValidator(_one_or_more)]


class RodTurned(FrozenModel):
    """The rod made longer or shorter by a known length at ride height, and what that did to toe.

    Resetting toe is such a reading; it tells what a millimeter of rod, and so of stack, is worth.
    """

    turns: Number | None = None
    """How far the rod or its sleeve was turned; positive makes the rod longer."""
    pitch: PositiveLength | None = None
    """Pitch of the thread. [mm]"""
    threads_per_inch: PositiveNumber | None = None
    """In place of the pitch."""
    both_ends: StrictBool = False
    """Whether right- and left-hand threads moved together, as with a sleeve: twice the pitch."""
    reset: StrictBool = False
    """Whether it ended at static toe, as a reset does; else it began there."""
    longer_by: Adjustment | None = None
    """In place of turns: how much longer the rod became, shorter below 0. [mm]"""
    turns_noise: PositiveNumber = 0.015
    """One standard deviation of the turns: 5 deg where flats are lined up. Common practice."""
    before: Shown | None = None
    """What the gauge showed before, in the columns of the sweep's rows."""
    after: Shown | None = None
    """What it showed after, set up as it was."""
    toe_before_deg: WheelAngle | None = None
    """In place of before: toe of this wheel, toe-in positive. [deg]"""
    toe_after_deg: WheelAngle | None = None
    """In place of after: toe of this wheel, toe-in positive. [deg]"""
    toe_noise_deg: PositiveNumber = 0.02
    """One standard deviation of such a toe. [deg]"""

    @property
    def thread_pitch(self) -> float:
        """Length of one turn at one end. [mm]."""
        return self.pitch or MM_PER_INCH / (self.threads_per_inch or float("inf"))

    @property
    def turned_by(self) -> float:
        """How much longer the rod became. [mm]."""
        if self.longer_by is not None:
            return self.longer_by
        return (self.turns or 0.0) * self._per_turn

    @property
    def toes_deg(self) -> tuple[float, float]:
        """Toe before and after, where no gauge showed it. [deg]."""
        return self.toe_before_deg or 0.0, self.toe_after_deg or 0.0

    @property
    def known_to(self) -> float:
        """One standard deviation of that. [mm]; of a length none, for it was measured."""
        return 0.0 if self.longer_by is not None else self.turns_noise * self._per_turn

    @property
    def _per_turn(self) -> float:
        return self.thread_pitch * (2.0 if self.both_ends else 1.0)

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from self._odd_length()
        by_gauge = [self.before, self.after]
        by_angle = [self.toe_before_deg, self.toe_after_deg]
        if all(x is None for x in by_gauge + by_angle):
            yield Fault("before", "must be given, and after (or toe_before_deg and …)")
        elif all(x is None for x in by_gauge):
            yield from _both("toe_before_deg", "toe_after_deg", by_angle)
        else:
            yield from _both("before", "after", by_gauge)
            if any(x is not None for x in by_angle):
                yield Fault("toe_before_deg", "must be left out where before is given")

    def _odd_length(self) -> list[Fault]:
        turned = [key for key in ("turns", "pitch", "threads_per_inch") if getattr(self, key)]
        if self.longer_by is not None:
            if turned:
                return [Fault(turned[0], "must be left out where longer_by is given")]
            return [] if self.longer_by else [Fault("longer_by", "must be other than 0")]
        if not self.turns:
            return [Fault("turns", "must be given, and not 0 (or longer_by in its place)")]
        if (self.pitch is None) == (self.threads_per_inch is None):
            return [Fault("pitch", "must be given, or threads_per_inch in its place, not both")]
        return []


def _both(first: str, second: str, typed: list[Any]) -> list[Fault]:
    lacking = [key for key, x in zip((first, second), typed, strict=True) if x is None]
    return [Fault(key, "must be given too") for key in lacking]


class CamberRead(FrozenModel):
    """Camber at wheel travels, the gauge's zero unknown."""

    readings: AtHeights
    """rows of a travel, as the sweep's rows count it, and camber in degrees (top outboard is
    positive)"""
    noise_deg: PositiveNumber = 0.05
    """One standard deviation of a reading. [deg]"""


class Sideways(FrozenModel):
    """How far the wheel moves sideways, by dials square to the car at its center's height.

    A dial there reads a plate on the hub: the wheel's own movement, and camber and toe by how far
    the plate's center has moved past it.
    """

    both_dials: StrictBool = False
    """Whether the mean of the sweep's own two dials tells it; then there are no rows here."""
    dial: Lengths = ()
    """rows of a travel, as the sweep's rows count it, and what one dial showed"""
    reading_grows: Literal["outboard", "inboard"] | None = None
    """the way the plate moves when that dial's reading grows"""
    ahead: Adjustment = 0.0
    """How far ahead of the axle it stands, or the middle between both; behind it below 0. [mm]"""
    noise: PositiveLength = Field(0.2, validate_default=False)
    """One standard deviation, with what is not known of where it stands. Common practice. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        given = {"dial": bool(self.dial), "reading_grows": self.reading_grows is not None}
        if self.both_dials:
            message = "must be left out where both_dials is true: the sweep has it"
            yield from (Fault(key, message) for key, there in given.items() if there)
        elif not any(given.values()):
            yield Fault("dial", "must be given, or both_dials = true with two dials")
        else:
            yield from (Fault(key, "must be given too") for key in given if not given[key])


class _OnPlates(FrozenModel):
    """What turn plates tell at rack travels, at ride height."""

    rack_per_turn: PositiveLength | None = None
    """Rack travel for a turn of the steering wheel; given, rows begin with such turns. [mm]"""

    @property
    def per_step(self) -> float:
        """Rack travel for one of what rows begin with. [mm]."""
        return self.rack_per_turn or 1.0


class Steered(_OnPlates):
    """Angles on a turn plate at rack travels, at ride height; the plate's zero unknown."""

    readings: AtRacks
    """rows of a rack travel, positive to the left, and the angle that this wheel has turned to
    the left in degrees"""
    noise_deg: PositiveNumber = 0.25
    """One standard deviation of an angle. [deg]"""

    @field_validator("readings")
    @classmethod
    def _at_several(cls, rows: tuple[Row, ...], info: ValidationInfo) -> tuple[Row, ...]:
        return _apart(rows, "rack travels", info.data.get("rack_per_turn") or 1.0)


class TurnToeOut(_OnPlates):
    """Toe-out on turns, from plates under both wheels that show 0 straight ahead.

    The other wheel is taken for the mirror image of this one, but on a beam axle.
    """

    readings: AtRacks
    """rows of a rack travel, positive to the left, and by how many degrees more the inner wheel of
    the turn has turned than the outer one"""
    noise_deg: PositiveNumber = 0.35
    """One standard deviation of the difference of two angles. [deg]"""

    @field_validator("readings")
    @classmethod
    def _on_a_turn(cls, rows: tuple[Row, ...], info: ValidationInfo) -> tuple[Row, ...]:
        per_step = info.data.get("rack_per_turn") or 1.0
        if max((abs(row[0] * per_step) for row in rows), default=0.0) < LEAST_STEP_MM:
            raise ValueError(
                "must hold a rack travel other than 0\n(straight ahead it tells nothing)"
            )
        return rows


class CasterSweep(FrozenModel):
    """Camber with the wheel steered out and in by the same angle, as caster gauges are used."""

    steer_deg: SteerAngle
    """angle from straight ahead, each way"""
    camber_out_deg: WheelAngle
    """camber with the front of the wheel steered outboard, top outboard positive"""
    camber_in_deg: WheelAngle
    """camber with the front of the wheel steered inboard, top outboard positive"""
    noise_deg: PositiveNumber = 0.1
    """One standard deviation of an angle. [deg]"""
