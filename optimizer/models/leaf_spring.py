"""What may be fitted at the leaf springs of an axle: lift blocks and other shackles."""

from itertools import product
from typing import Self

from pydantic import ValidationInfo, model_validator

from optimizer.models.base import FrozenModel
from optimizer.models.hardware import (
    LinkageChoice,
    Raises,
    raise_if_repeated,
    raise_if_too_many,
)


class LeafSpring(FrozenModel):
    """Lift blocks and shackles to choose from, alike on both springs, from what was measured."""

    lift_block: Raises = (0.0,)
    """How much higher each choice stands the spring on the axle; the first is there now. [mm]"""
    shackle_longer: Raises = (0.0,)
    """How much longer each choice of shackle is; the first is there now. [mm]"""

    @model_validator(mode="after")
    def _no_choice_twice(self, info: ValidationInfo) -> Self:
        raise_if_repeated("lift_block", self.lift_block, info)
        raise_if_repeated("shackle_longer", self.shackle_longer, info)
        raise_if_too_many("shackle_longer", len(self.choices), "pairs with lift_block")
        return self

    @property
    def choices(self) -> tuple[LinkageChoice, ...]:
        """Every choice of block and shackle; the first is what the car has."""
        pairs = product(self.lift_block, self.shackle_longer)
        return tuple(LinkageChoice(lift_block=up, shackle_longer=by) for up, by in pairs)
