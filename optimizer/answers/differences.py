"""Two measured wheels laid over each other: where they differ, and what that does to their toe.

Both wheels are seen as left ones, so that two mirror images coincide.  What a difference does is
told by making it even: both wheels get the mean, and the curves are solved again.
"""

from functools import cached_property
from math import hypot

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.toe_curve import toe_change
from geometry.vectors import Array, norm, unit
from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.linkage import with_linkage
from optimizer.car.sampled import moved_corner, sampled_toe
from optimizer.car.settings import Settings
from optimizer.car.tape import length_deviation, point_names
from optimizer.models.vehicle import Vehicle

SURE = 2.0  # standard deviations that a difference looked for must exceed
FINEST_MM = 0.05  # no tape tells less, whatever its accuracy is said to be
MEDIAN_SPREAD = 1.25  # standard deviation of a median against that of a mean, normal errors
SAMPLES = 200

Corners = tuple[Corner, Corner]


class SideBySide(Struct, frozen=True, dict=True):
    """Both wheels of a car, prepared for the used travel as far as both reach it."""

    left: Evaluator
    right: Evaluator

    @staticmethod
    def of(vehicle: Vehicle) -> "SideBySide":
        """Prepare a car as it was measured: alignment or a tilted rack would hide what is bent."""
        left, right = (
            with_linkage(case.model_copy(update={"alignment": None}), {"rack_tilt": 0.0})
            for case in vehicle.wheels
        )
        whole = SideBySide(Evaluator.of(left), Evaluator.of(right))
        travel = whole.left.travel[np.isfinite(whole.difference())]
        return SideBySide(Evaluator.of(left, travel), Evaluator.of(right, travel))

    @property
    def both(self) -> tuple[Evaluator, Evaluator]:
        """Left and right."""
        return self.left, self.right

    @property
    def corners(self) -> Corners:
        """Left and right as measured."""
        return self.left.corner, self.right.corner

    @cached_property
    def names(self) -> list[str]:
        """Names of all points."""
        return point_names(self.left.corner)

    def deviation(self, name: str) -> Array:
        """Standard deviation of the difference of a point, (3,). [mm]."""
        of_each = [np.array(one.case.accuracy.of(name)) for one in self.both]
        deviation: Array = np.hypot(*of_each)
        return deviation

    def limit(self, name: str, deviations: float = SURE) -> Array:
        """Difference of a point that the tape explains, (3,). [mm]."""
        return np.maximum(deviations * self.deviation(name), FINEST_MM)

    @cached_property
    def offset(self) -> Array:
        """How far all points of the left wheel stand off those of the right one, (3,). [mm].

        0 where the tape explains it.  It moves a wheel as a whole and changes no toe curve: an
        origin off the center plane, say, or a floor that slopes.
        """
        between = np.array([self._between(name) for name in self.names])
        middle = np.median(between, axis=0)
        tape = np.median([self.limit(name) for name in self.names], axis=0)
        tape = MEDIAN_SPREAD * tape / np.sqrt(len(self.names))
        return np.where(np.abs(middle) > tape, middle, 0.0)

    def apart(self, name: str) -> Array:
        """Left point less the mirror image of the right one, beyond `offset`, (3,). [mm]."""
        return self._between(name) - self.offset

    def _between(self, name: str) -> Array:
        left, right = (corner.measured[name] for corner in self.corners)
        return left - right

    def difference(self, corners: Corners | None = None) -> Array:
        """Toe change of the left wheel less the right one's, (H,); NaN out of reach. [deg]."""
        changes = [
            one.with_corner(corner).toe_change(Settings.single())[0]
            for one, corner in zip(self.both, corners or self.corners, strict=True)
        ]
        apart: Array = np.degrees(changes[0] - changes[1])
        return apart

    def peak(self, corners: Corners | None = None) -> float:
        """Largest toe difference; infinite where a wheel gets out of reach. [deg]."""
        difference = np.abs(self.difference(corners))
        return float(np.where(np.isnan(difference), np.inf, difference).max())

    def peak_with_even(self, name: str, axes: list[int]) -> float:
        """Largest toe difference with these coordinates of a point made even. [deg]."""
        by = np.zeros(3)
        by[axes] = 0.5 * self.apart(name)[axes]
        return self.peak(self._moved(name, by))

    def peak_with_heights_changed_over(self, name: str) -> float:
        """Largest toe difference with each side's point at the other's height. [deg]."""
        return self.peak(self._moved(name, np.array([0.0, 0.0, self.apart(name)[2]])))

    def _moved(self, name: str, by: Array) -> Corners:
        left, right = self.corners
        return _moved(left, name, -by), _moved(right, name, by)

    @property
    def rods(self) -> tuple[float, float]:
        """Length of the left and of the right tie rod. [mm]."""
        left, right = (float(norm(one.outer_seat - one.inner)) for one in self.corners)
        return left, right

    @property
    def rods_limit(self) -> float:
        """Difference of the rods' lengths that the tape explains. [mm]."""
        ends = "tie_rod_inner", "tie_rod_outer"
        of_each = [length_deviation(one.case, one.corner, *ends) for one in self.both]
        return SURE * hypot(*of_each)

    def peak_with_even_rods(self) -> float:
        """Largest toe difference with both inner pivots moved along to rods of equal length."""
        mean = 0.5 * sum(self.rods)
        left, right = (
            replace(one, inner=one.outer_seat - mean * unit(one.outer_seat - one.inner))
            for one in self.corners
        )
        return self.peak((left, right))

    def tape_alone(self) -> float:
        """Toe difference that errors of the tape stay below with 95 % probability. [deg].

        Cars that can't be assembled take no part; 0 where none can.
        """
        rng = np.random.default_rng(0)
        travel = self.left.travel[np.unique([0, self.left.home, self.left.travel.size - 1])]
        spread = []
        for one in self.both:
            errors = rng.normal(size=(SAMPLES, len(self.names), 3))
            toe = sampled_toe(one, moved_corner(one, errors), Settings.single(), travel)
            change = np.degrees(toe_change(travel, toe))
            change = change[np.isfinite(change).all(axis=1)]
            spread.append(change - change.mean(axis=0) if len(change) else change)
        count = min(len(one) for one in spread)
        if count == 0:
            return 0.0
        apart = np.abs(spread[0][:count] - spread[1][:count]).max(axis=1)
        return float(np.quantile(apart, 0.95))


def _moved(corner: Corner, name: str, by: Array) -> Corner:
    if name == "tie_rod_outer":
        return replace(corner, outer_seat=corner.outer_seat + by)
    if name == "tie_rod_inner":
        return replace(corner, inner=corner.inner + by)
    return replace(corner, points={**corner.points, name: corner.points[name] + by})
