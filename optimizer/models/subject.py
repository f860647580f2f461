"""What an answer is about, and how its owner likes to read it."""

from typing import Literal

from pydantic import Field

from optimizer.models.answer import Answer
from optimizer.models.dialect import Dialect
from optimizer.models.setting import LinkageFitted
from optimizer.models.vocabulary import Axle, SteeredBy, Vocabulary, words_for
from optimizer.units import Side, Units

StudWay = Literal["down", "up", "level"]


class Subject(Answer):
    """The car or wheel that an answer is about, and how its owner likes to read it.

    `sides` are the wheels measured, one or two; `steering_kind` is None on a rear axle, which
    nothing steers.  `moves_along` where what steers moves along the car, a pitman ball on its drag
    link, and not across it.  `stud` is the way that a stack takes the outer pivot, "level" where
    that is neither down nor up, or not the same on both wheels, and `joint` that in which an
    extension takes the lower ball joint.  `linkage_now` is what the linkage
    of each wheel has now, standard parts where a side is left out.
    """

    name: str
    layout: str
    axle: Axle = "front"
    steering_kind: SteeredBy | None = "rack"
    sides: list[Side]
    units: Units
    toe_unit: Literal["deg", "min", "mm", "in"]
    toe_diameter_mm: float
    dialect: Dialect = "us"
    moves_along: bool = False
    stud: StudWay = "down"
    joint: StudWay = "down"
    linkage_now: dict[Side, LinkageFitted] = Field(default_factory=dict)

    @property
    def words(self) -> Vocabulary:
        """What the trade calls the parts of this car."""
        on_leaves = self.layout == "leaf-axle"
        return words_for(self.axle, self.steering_kind, self.dialect, on_leaves=on_leaves)

    @property
    def both_wheels(self) -> bool:
        """Whether both wheels were measured."""
        return len(self.sides) > 1

    @property
    def on_beam(self) -> bool:
        """Whether a beam carries both wheels, whose drag link turns them unlike to either side."""
        return self.steering_kind == "drag-link"
