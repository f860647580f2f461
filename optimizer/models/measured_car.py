"""What a readings file may say of its car: lengths, used travel, and a maker's two heights."""

from collections.abc import Iterator
from typing import Literal, Self

from pydantic import model_validator

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel
from optimizer.models.quantities import Length, PositiveLength, Stroke, WheelAngle
from optimizer.models.vocabulary import Axle, SteeredBy, Vocabulary, words_for
from optimizer.units import Units


class MeasuredCar(FrozenModel):
    """Two lengths and a word that turn a slope into shims where no points are known."""

    axle: Axle | None = None
    """Which axle the wheel is of; the front one if left out."""
    steering: SteeredBy | None = None
    """What steers it: a rack, the center link of a steering box, or the drag link of a beam axle;
    a rack if left out."""

    rod_length: PositiveLength | None = None
    """Tie rod, joint to joint, seen from the front. [mm]"""
    steering_arm: PositiveLength | None = None
    """From the steering axis to the outer pivot, seen from above. [mm]"""
    arms: Literal["ahead", "behind"] | None = None
    """Where the steering arms point, relative to the axle."""
    tire_diameter: PositiveLength | None = None
    """Outside diameter of the tire. [mm]"""

    @property
    def words(self) -> Vocabulary:
        """What the trade calls the parts of this car."""
        return words_for(self.axle, self.steering)

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.axle == "rear" and self.steering is not None:
            message = 'must be left out where axle is "rear"\n(its rod is the toe link)'
            yield Fault("steering", message)


class UsedTravel(FrozenModel):
    """Travel that the car uses from ride height."""

    bump: Stroke
    """how far the wheel rises in use, from ride height"""
    droop: Stroke
    """how far the wheel falls in use, from ride height"""

    @model_validator(mode="after")
    def _wheel_moves(self) -> Self:
        if self.bump == 0.0 and self.droop == 0.0:
            raise FaultList([Fault("bump", "must be above 0 where droop is 0, got 0 for both")])
        return self


class Between(FrozenModel):
    """A maker's definition between two heights: toe at the second less toe at the first.

    Both heights are as the rows write them, from whatever zero the maker means.
    """

    first: Length
    """the height at which the maker's toe begins, as the rows count heights"""
    second: Length
    """the height at which it ends, as the rows count heights"""
    least_deg: WheelAngle
    """least toe at the second height less that at the first, toe-in positive, of one wheel"""
    most_deg: WheelAngle
    """most toe at the second height less that at the first, toe-in positive, of one wheel"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.first == self.second:
            yield Fault("second", "must be another height than first")
        if self.least_deg > self.most_deg:
            yield Fault("most_deg", f"must be least_deg or more, got {self.most_deg:g}")
