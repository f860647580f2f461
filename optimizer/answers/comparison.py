"""Why two wheels steer differently over bumps: every difference that the tape doesn't explain."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from msgspec import Struct

from optimizer.answers.differences import SideBySide
from optimizer.models.comparison import (
    AXES,
    UNEQUAL_RODS_MM,
    Apart,
    Cause,
    CauseKind,
    SidesCompared,
)
from optimizer.models.vehicle import Vehicle

ODD = 3.0  # standard deviations of a point that isn't looked at for itself: there are dozens
CROSS_CAMBER_DEG = 0.5  # common practice, no source
AGREE_DEG = 0.03  # curves nearer than this pass for alike whatever the tape says
SWAPPED = 0.35  # share of the difference that may be left with the outer heights changed over
LEAST_HEIGHT_MM = 0.5  # a smaller difference of heights is no suspect


def compared(vehicle: Vehicle) -> SidesCompared:
    """Compare both wheels of a car on which both were measured, as it is at ride height."""
    sides = SideBySide.of(vehicle)
    difference = sides.difference()
    worst = int(np.argmax(np.abs(difference)))
    peak, tape = float(np.abs(difference[worst])), sides.tape_alone()
    causes = sorted(_Causes(sides, peak, tape).all(), key=_left_over)
    alike = not causes and peak <= max(AGREE_DEG, tape)
    if not causes and not alike:
        causes = [Cause(kind="no-single-one", peak_deg=peak)]
    return SidesCompared(
        alike=alike,
        peak_toe_difference_deg=peak,
        at_travel_mm=float(sides.left.travel[worst]),
        tape_alone_deg=tape,
        causes=causes,
    )


def _left_over(cause: Cause) -> float:
    return np.inf if cause.without_deg is None else cause.without_deg


class _Causes(Struct, frozen=True):
    """What differs; `peak` is the toe difference now, `tape` what the tape alone makes. [deg]."""

    sides: SideBySide
    peak: float
    tape: float

    def all(self) -> Iterator[Cause]:
        yield from self._carrier()
        yield from self._rods()
        yield from self._outer_heights()
        yield from self._arms()
        yield from self._other_points()
        yield from self._cambers()

    def _carrier(self) -> Iterator[Cause]:
        name = "tie_rod_inner"
        beyond = np.abs(self.sides.apart(name)) > self.sides.limit(name)
        for axis in np.flatnonzero(beyond).tolist():
            yield self._uneven("carrier", name, [axis])

    def _rods(self) -> Iterator[Cause]:
        left, right = self.sides.rods
        if abs(left - right) > max(UNEQUAL_RODS_MM[0], self.sides.rods_limit):
            left_over = self.sides.peak_with_even_rods()
            yield self._cause("rods", left_over, left_mm=left, right_mm=right)

    def _outer_heights(self) -> Iterator[Cause]:
        name = "tie_rod_outer"
        by = abs(float(self.sides.apart(name)[2]))
        if by >= LEAST_HEIGHT_MM and self.peak > max(AGREE_DEG, self.tape):
            swapped = self.sides.peak_with_heights_changed_over(name)
            if swapped <= SWAPPED * self.peak:
                apart = self._apart(name, [2])
                yield self._cause("stacks-swapped", swapped, point=name, apart=apart)
                return
        if by > self.sides.limit(name)[2]:
            yield self._uneven("outer-height", name, [2])

    def _arms(self) -> Iterator[Cause]:
        name = "tie_rod_outer"
        beyond = np.abs(self.sides.apart(name)) > self.sides.limit(name)
        if beyond[:2].any():
            left, right = (one.corner.steering_arm for one in self.sides.both)
            axes = np.flatnonzero(beyond[:2]).tolist()
            yield self._uneven("arms", name, axes, left_mm=left, right_mm=right)

    def _other_points(self) -> Iterator[Cause]:
        for name in self.sides.names:
            beyond = np.abs(self.sides.apart(name)) > self.sides.limit(name, ODD)
            if beyond.any() and not name.startswith("tie_rod"):
                yield self._uneven("point", name, np.flatnonzero(beyond).tolist())

    def _cambers(self) -> Iterator[Cause]:
        left, right = (one.case.wheel.camber_deg for one in self.sides.both)
        if abs(left - right) > CROSS_CAMBER_DEG:
            yield self._cause("camber", np.inf, left_deg=left, right_deg=right)

    def _uneven(self, kind: CauseKind, name: str, axes: list[int], **lengths: float) -> Cause:
        """A point that is apart along some axes, with what evening it out leaves."""
        left_over = self.sides.peak_with_even(name, axes)
        return self._cause(kind, left_over, point=name, apart=self._apart(name, axes), **lengths)

    def _cause(self, kind: CauseKind, left_over: float, **found: Any) -> Cause:
        without = left_over if np.isfinite(left_over) else None  # out of reach, evened out
        return Cause(kind=kind, peak_deg=self.peak, without_deg=without, **found)

    def _apart(self, name: str, axes: list[int]) -> tuple[Apart, ...]:
        apart = self.sides.apart(name)
        return tuple(Apart(axis=AXES[k], by_mm=float(apart[k])) for k in axes)
