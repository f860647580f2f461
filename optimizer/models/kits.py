"""An adjuster kit: what it can be set to, how it is held, and what it brings along."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Literal

from pydantic import ValidationInfo, field_validator

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel, quoted
from optimizer.models.limits import TiltLimit
from optimizer.models.quantities import Name, PositiveLength, PositiveNumber
from optimizer.models.shelf import Shelf, Stack, step_faults
from optimizer.models.stud import Stud, TieRodThread
from optimizer.units import Units

Seat = Literal["tapered", "straight-bolt"]


class RodEnd(TiltLimit):
    """The joint that a kit brings along; what is left out stays as the case says it."""

    housing_diameter: PositiveLength | None = None
    """Of its housing, across the bolt. [mm]"""
    housing_height: PositiveLength | None = None
    """Of its housing, along the bolt. [mm]"""

    @property
    def states_a_limit(self) -> bool:
        """Whether it says how far it may tilt."""
        return self.tilt_limit_deg is not None or self.ball_width is not None


class Kit(FrozenModel):
    """One adjuster kit. All lengths are in millimeters, also where the file's units are inches."""

    name: Name
    """a line of text that tells the kit from the others"""
    seat: Seat
    """how it is held in the arm: "tapered" in the original taper, or "straight-bolt\""""
    stack: Stack | None = None
    """range and step of heights, from the standard seat"""
    shelf: Shelf | None = None
    """Pieces that come with it; then the stacks are those that these pieces build."""
    rod_end: RodEnd | None = None
    """The joint that comes with it; the case's own if left out."""
    stud: Stud | None = None
    """Its stud; the case's own if left out."""
    thread: TieRodThread | None = None
    """The thread of its rod end in the tie rod; the case's own if left out."""
    price: PositiveNumber | None = None
    """For one wheel, in the file's currency."""
    mass_g: PositiveNumber | None = None
    """For one wheel. [g]"""

    @property
    def irreversible(self) -> bool:
        """Whether fitting it drills the arm's taper out."""
        return self.seat == "straight-bolt"

    def is_idle(self, outer_drops_mm: Iterable[float]) -> bool:
        """Whether nothing of it is fitted with these stacks, for it brings nothing else. [mm]."""
        brings = (self.rod_end, self.stud, self.thread)
        only_stacks = not self.irreversible and all(part is None for part in brings)
        return only_stacks and not any(outer_drops_mm)

    @property
    def known_price(self) -> float:
        """Price for comparing kits, infinite where none is stated."""
        return float("inf") if self.price is None else self.price

    @field_validator("stud", mode="before")
    @classmethod
    def _stud_sits_as_the_kit_does(cls, typed: object, info: ValidationInfo) -> object:
        if not isinstance(typed, Mapping) or "seat" not in info.data:
            return typed
        seat = info.data["seat"]
        if typed.get("seat", seat) != seat:
            message = f'must be "{seat}" as the kit says, or left out, got {quoted(typed["seat"])}'
            raise FaultList([Fault("seat", message)])
        return {**typed, "seat": seat}

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.stack is None and self.shelf is None:
            hint = "such as stack = { min = 0.0, max = 16.0, step = 1.0 }"
            yield Fault("stack", f"must be given, or a shelf\n({hint})")
        yield from step_faults(self.stack, self.shelf)


class KitsFile(FrozenModel):
    """Head of a kits file; its rows are read one by one, so that a bad one stops no other."""

    format: Literal[1]
    """format = 1, the only one that this version reads"""
    units: Units
    """the unit, "mm" or "in", of every length in the file"""
    currency: Name | None = None
    """That of the prices."""
