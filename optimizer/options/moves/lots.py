"""Lots of custom pivots: what the wheels share, and in each lot the best pivot of each wheel.

Hardware, rack raise and linkage are the same at both wheels of an axle that steers; with them
settled, each wheel may be chosen for itself, and the worse one's score is the car's.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct, field

from optimizer.options.moves.fits import unlimited_pivots
from optimizer.options.moves.scores import CustomScores, Pivots, joined
from optimizer.options.moves.space import HARDWARE, LINKAGE, RACK, Choice

Shared = tuple[int, ...]


class CustomCar(Struct, frozen=True):
    """The wheels of a car, and whether they share rack and linkage."""

    wheels: tuple[CustomScores, ...]
    shares: bool = True

    @property
    def scored(self) -> int:
        """How many pivots were scored at all wheels."""
        return sum(wheel.scored for wheel in self.wheels)

    def shared(self, choice: Choice) -> Shared:
        """What a choice (4,) of one wheel settles for the other."""
        return tuple(choice[[HARDWARE, RACK, LINKAGE] if self.shares else [HARDWARE]].tolist())

    def parts(self, choices: Sequence[Choice]) -> int:
        """How many parts the wheels' choices ask for; what they share counts once."""
        each = zip(self.wheels, choices, strict=True)
        parts = sum(wheel.space.parts(choice) for wheel, choice in each)
        again = self.wheels[0].space.shared_parts(choices[0]) if self.shares else 0
        return parts - (len(choices) - 1) * again


class CarPivot(Struct, frozen=True):
    """A custom pivot at each wheel, one row each."""

    wheels: tuple[Pivots, ...]

    @property
    def choices(self) -> list[Choice]:
        """Each wheel's choice (4,)."""
        return [one.choices[0] for one in self.wheels]

    @property
    def hardware(self) -> int:
        """Alternative of hardware that every wheel carries."""
        return int(self.choices[0][HARDWARE])

    @property
    def peak(self) -> float:
        """Worse wheel's peak. [rad]."""
        return max(float(one.peak[0]) for one in self.wheels)

    @property
    def score(self) -> float:
        """Worse wheel's score. [rad]."""
        return max(float(one.score[0]) for one in self.wheels)

    @property
    def violation(self) -> float:
        """Worst limit exceeded, 0 where every wheel fits. [mm or deg]."""
        return max(float(one.violation[0]) for one in self.wheels)

    @property
    def order(self) -> tuple[float, float]:
        """What decides between pivots, least first: limits, then the score."""
        return self.violation, self.score


class Lot(Struct, frozen=True):
    """Pivots that share something; `starts` are those of each wheel without limits, best first.

    No pivot of the lot scores less than `bound`, whatever its limits. [rad]
    """

    shared: Shared
    starts: tuple[Pivots, ...]

    @property
    def bound(self) -> float:
        """Worse wheel's least score. [rad]."""
        return max(float(starts.score[0]) for starts in self.starts)


def lots_of(car: CustomCar) -> list[Lot]:
    """List the lots of a car, most promising first."""
    starts = [_by_shared(car, _without_limits(wheel)) for wheel in car.wheels]
    lots = [
        Lot(shared, tuple(of_wheel[shared] for of_wheel in starts))
        for shared in starts[0]
        if all(shared in of_wheel for of_wheel in starts)
    ]
    return sorted(lots, key=lambda lot: lot.bound)


def _without_limits(scores: CustomScores) -> Pivots:
    choices, moves = unlimited_pivots(scores)
    found = Pivots(choices, moves, scores.peak(choices, moves), np.full(len(moves), np.nan))
    return found.rows(np.argsort(found.score, kind="stable"))


def _by_shared(car: CustomCar, pivots: Pivots) -> dict[Shared, Pivots]:
    """Pivots of a wheel by what they settle for the other, their order kept."""
    rows: dict[Shared, list[int]] = {}
    for row, choice in enumerate(pivots.choices):
        rows.setdefault(car.shared(choice), []).append(row)
    return {shared: pivots.rows(np.array(some)) for shared, some in rows.items()}


class KnownPivots(Struct):
    """Pivots that were scored and checked, by wheel and by what they share."""

    car: CustomCar
    of_lots: dict[Shared, list[list[Pivots]]] = field(default_factory=dict)
    _cars: list[CarPivot] = field(default_factory=list)

    def add(self, wheel: int, pivots: Pivots) -> None:
        """Take over pivots of a wheel."""
        self._cars = []
        for shared, some in _by_shared(self.car, pivots).items():
            wheels = self.of_lots.setdefault(shared, [[] for _ in self.car.wheels])
            wheels[wheel].append(some)

    def of_wheel(self, wheel: int, shared: Shared) -> Pivots | None:
        """Pivots of a wheel in a lot, best first; None where none is known."""
        found = self.of_lots.get(shared, [[] for _ in self.car.wheels])[wheel]
        if not found:
            return None
        together = joined(found)
        return together.rows(together.order())

    def cars(self) -> list[CarPivot]:
        """The best pivot of each lot, best first."""
        if not self._cars:
            for shared in self.of_lots:
                wheels = [self.of_wheel(k, shared) for k in range(len(self.car.wheels))]
                best = tuple(one.rows(np.arange(1)) for one in wheels if one is not None)
                if len(best) == len(wheels):
                    self._cars.append(CarPivot(best))
            self._cars.sort(key=lambda pivot: pivot.order)
        return self._cars

    def easiest(self, limit: float) -> CarPivot | None:
        """Of pivots that fit and peak within a limit, the one with fewest parts. [rad].

        Of equal ones it is the one with the first hardware, then the one with the least score.
        """
        found = []
        for shared in self.of_lots:
            wheels = [self._easiest_of(k, shared, limit) for k in range(len(self.car.wheels))]
            easiest = tuple(one for one in wheels if one is not None)
            if len(easiest) == len(wheels):
                found.append(CarPivot(easiest))
        return min(found, key=self.ease, default=None)

    def ease(self, pivot: CarPivot) -> tuple[float, ...]:
        """What decides between pivots that no gauge tells apart, least first."""
        return self.car.parts(pivot.choices), pivot.hardware, pivot.score

    def _easiest_of(self, wheel: int, shared: Shared, limit: float) -> Pivots | None:
        known = self.of_wheel(wheel, shared)
        if known is None:
            return None
        rows = np.flatnonzero((known.violation == 0.0) & (known.peak <= limit))
        parts = self.car.wheels[wheel].space.parts
        row = min(rows, key=lambda row: (parts(known.choices[row]), row), default=None)
        return None if row is None else known.rows(np.array([row]))
