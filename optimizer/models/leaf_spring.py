"""What may be fitted at the leaf springs of an axle: lift blocks and other shackles."""

from collections.abc import Iterator
from itertools import product

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.hardware import (
    LinkageChoice,
    Raises,
    too_many,
)
from optimizer.units import Units


class LeafSpring(FrozenModel):
    """Lift blocks and shackles to choose from, alike on both springs, from what was measured."""

    lift_block: Raises = (0.0,)
    """How much higher each choice stands the spring on the axle; the first is there now. [mm]"""
    shackle_longer: Raises = (0.0,)
    """How much longer each choice of shackle is; the first is there now. [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from too_many("shackle_longer", len(self.choices), "pairs with lift_block")

    @property
    def choices(self) -> tuple[LinkageChoice, ...]:
        """Every choice of block and shackle; the first is what the car has."""
        pairs = product(self.lift_block, self.shackle_longer)
        return tuple(LinkageChoice(lift_block=up, shackle_longer=by) for up, by in pairs)
