"""Why two wheels steer differently over bumps: every difference that the tape doesn't explain."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.answers.sides.differences import SideBySide
from optimizer.models.both_sides import BothSides
from optimizer.models.together import SidesCompared
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import Units, length_text, short_length

ODD = 3.0  # standard deviations of a point that isn't looked at for itself: there are dozens
UNEQUAL_RODS_MM = (1.5, 5.0)  # what makers' manuals ask for; common practice, no source
CROSS_CAMBER_DEG = 0.5  # common practice, no source
AGREE_DEG = 0.03  # curves nearer than this pass for alike whatever the tape says
SWAPPED = 0.35  # share of the difference that may be left with the outer heights changed over
LEAST_HEIGHT_MM = 0.5  # a smaller difference of heights is no suspect
WAYS = (("ahead", "behind"), ("farther outboard", "farther inboard"), ("higher", "lower"))
NO_SINGLE_ONE = (
    "No single point differs by more than the tape explains: look for several small differences, "
    "and sweep both wheels with a gauge."
)

Cause = tuple[float, str]  # toe difference that is left without it [deg], and the sentence


def compared(car: BothSides) -> SidesCompared:
    """Compare both wheels, the car as it is at ride height."""
    sides = SideBySide.of(car)
    difference = sides.difference()
    worst = int(np.argmax(np.abs(difference)))
    peak, tape = float(np.abs(difference[worst])), sides.tape_alone()
    found = sorted(_Causes(sides, peak, tape).all())
    alike = not found and peak <= max(AGREE_DEG, tape)
    return SidesCompared(
        alike=alike,
        peak_toe_difference_deg=peak,
        at_travel_mm=float(sides.left.travel[worst]),
        tape_alone_deg=tape,
        causes=[text for _, text in found] or ([] if alike else [NO_SINGLE_ONE]),
    )


@dataclass(frozen=True)
class _Causes:
    """What differs; `peak` is the toe difference now, `tape` what the tape alone makes. [deg]."""

    sides: SideBySide
    peak: float
    tape: float

    def all(self) -> Iterator[Cause]:
        yield from self._rack()
        yield from self._rods()
        yield from self._outer_heights()
        yield from self._steering_arms()
        yield from self._other_points()
        yield from self._cambers()

    def _rack(self) -> Iterator[Cause]:
        apart, limit = self.sides.apart("tie_rod_inner"), self.sides.limit("tie_rod_inner")
        carrier = self._words.carrier
        for axis in np.flatnonzero(np.abs(apart) > limit).tolist():
            by, side = self._length(apart[axis]), "left" if apart[axis] > 0.0 else "right"
            what = (
                f"The {carrier} is askew: its {side} pivot lies {by} farther ahead",
                f"The {carrier} is off center by {self._length(0.5 * apart[axis])} to the {side}",
                f"The {carrier} is not level: its {side} pivot lies {by} higher",
            )[axis]
            yield self._without(self.sides.peak_with_even("tie_rod_inner", [axis]), what)

    def _rods(self) -> Iterator[Cause]:
        left, right = self.sides.rods
        if abs(left - right) <= max(UNEQUAL_RODS_MM[0], self.sides.rods_limit):
            return
        least, most = (length_text(x, self._units) for x in UNEQUAL_RODS_MM)
        what = (
            f"The {self._words.rod}s are unequal: {self._length(left)} left, "
            f"{self._length(right)} right (makers' manuals ask for equal ones within {least} to "
            f"{most})"
        )
        yield self._without(self.sides.peak_with_even_rods(), what)

    def _outer_heights(self) -> Iterator[Cause]:
        name = "tie_rod_outer"
        by = float(self.sides.apart(name)[2])
        what = f"The {'left' if by > 0.0 else 'right'} outer pivot sits {self._length(by)} higher"
        if abs(by) >= LEAST_HEIGHT_MM and self.peak > max(AGREE_DEG, self.tape):
            swapped = self.sides.peak_with_heights_changed_over(name)
            if swapped <= SWAPPED * self.peak:
                text = f"{what}: were the shims fitted on the wrong sides?"
                yield self._with(swapped, text, "With the two heights changed over")
                return
        if abs(by) > self.sides.limit(name)[2]:
            why = f"unequal stacks, a stud that is not fully home, or a bent {self._words.arm}"
            yield self._without(self.sides.peak_with_even(name, [2]), f"{what}: {why}")

    def _steering_arms(self) -> Iterator[Cause]:
        name = "tie_rod_outer"
        beyond = np.abs(self.sides.apart(name)) > self.sides.limit(name)
        if not beyond[:2].any():
            return
        axes = np.flatnonzero(beyond[:2]).tolist()
        left, right = (self._length(one.corner.steering_arm) for one in self.sides.both)
        what = (
            f"The {self._words.arm}s differ, {left} left and {right} right: the left outer pivot "
            f"lies {self._where(name, axes)}; look for a bent arm or unlike uprights"
        )
        yield self._without(self.sides.peak_with_even(name, axes), what)

    def _other_points(self) -> Iterator[Cause]:
        for name in self.sides.names:
            beyond = np.abs(self.sides.apart(name)) > self.sides.limit(name, ODD)
            if name.startswith("tie_rod") or not beyond.any():
                continue
            axes = np.flatnonzero(beyond).tolist()
            what = (
                f"{name} lies {self._where(name, axes)} on the left, more than the tape explains: "
                "a bent part or a slip of the tape; measure it again first"
            )
            yield self._without(self.sides.peak_with_even(name, axes), what)

    def _cambers(self) -> Iterator[Cause]:
        left, right = (one.case.wheel.camber_deg for one in self.sides.both)
        if abs(left - right) > CROSS_CAMBER_DEG:
            yield (
                np.inf,
                f"Camber differs: {left:+.2f} deg left, {right:+.2f} deg right; look for unlike "
                "settings, or a bent strut, arm or upright.",
            )

    def _without(self, left_over: float, what: str) -> Cause:
        return self._with(left_over, f"{what}.", "Without that")

    def _with(self, left_over: float, what: str, change: str) -> Cause:
        if not np.isfinite(left_over):  # evened out, a wheel can't follow the whole travel
            return left_over, what
        rest = f"the wheels would differ by {left_over:.3f} instead of {self.peak:.3f} deg."
        return left_over, f"{what} {change} {rest}"

    def _where(self, name: str, axes: list[int]) -> str:
        apart = self.sides.apart(name)
        return " and ".join(
            f"{self._length(apart[k])} {WAYS[k][int(apart[k] < 0.0)]}" for k in axes
        )

    @property
    def _words(self) -> Vocabulary:
        return self.sides.left.case.words

    @property
    def _units(self) -> Units:
        return self.sides.left.case.units

    def _length(self, length: float) -> str:
        return short_length(abs(float(length)), self._units)
