"""The option space: hardware x what the wheels share x one stack a wheel.

Place of the rack and choice of the linkage are the same at both wheels of an axle that steers; with
them settled, each wheel may be chosen for itself.  So the space falls into lots: one alternative of
hardware and one of what is shared, and in each lot the best for the car is the best for each wheel.
The objective is the worse wheel's peak; the effort of an option is that of its wheels added up.
"""

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import toe_spread
from optimizer.car.settings import Rows
from optimizer.models.kits import Kit
from optimizer.models.vehicle import Vehicle
from optimizer.options.candidates import (
    CHANGED,
    DRILLS,
    RAISED,
    WORK,
    Candidates,
)
from optimizer.options.drawn import OverCars
from optimizer.options.hardware import Hardware, alternatives
from optimizer.options.parts import Part, sharing_poses
from optimizer.options.proof import RESOLUTION, by_bound, good_enough
from optimizer.options.space import Space, left_alone, space_of

Seat = tuple[object, ...]

SPREADS = 4.0  # differences so many times below the tape's spread decide nothing


class Lot(Struct, frozen=True):
    """Options of one alternative of hardware with one of what the wheels share.

    `rows` are each wheel's settings, lowest bound first; any of one wheel goes with any of the
    other.  `seat` is the place of the ranking that one of the lot's options may take.
    """

    hardware: int
    seat: Seat
    rows: tuple[Rows, ...]

    @property
    def count(self) -> int:
        """How many options there are."""
        return int(np.prod([rows.size for rows in self.rows]))


class Option(Struct, frozen=True):
    """One option: a row of each wheel's settings."""

    rows: tuple[int, ...]


class OptionSpace(Struct, frozen=True, dict=True):
    """Everything that may be fitted to a car: `wheels` hold each wheel's settings, in lots.

    `by_setting` tells that every setting has a place in the ranking for itself: one wheel, and no
    kits to choose from.  With `over` peaks are those over the possible cars.
    """

    hardware: list[Hardware]
    wheels: tuple[Candidates, ...]
    lots: list[Lot]
    by_setting: bool
    over: OverCars | None = None

    @property
    def as_is(self) -> Option:
        """The car left as it is."""
        return Option(tuple(wheel.left for wheel in self.wheels))

    @cached_property
    def with_kits(self) -> bool:
        """Whether there are kits to choose from."""
        return any(one.kit is not None for one in self.hardware)

    def peak(self, option: Option) -> float:
        """The worse wheel's exact peak. [rad]."""
        for wheel, row in zip(self.wheels, option.rows, strict=True):
            wheel.find_peaks(np.array([row]))
        return max(
            float(wheel.peak[row]) for wheel, row in zip(self.wheels, option.rows, strict=True)
        )

    def fits(self, option: Option) -> bool:
        """Whether every wheel keeps every limit."""
        return all(
            bool(wheel.fits(np.array([row]))[0])
            for wheel, row in zip(self.wheels, option.rows, strict=True)
        )

    def breaks(self, option: Option) -> bool:
        """Whether a wheel is known to break a limit on the car as measured."""
        return any(
            bool(wheel.breaks(np.array([row]))[0])
            for wheel, row in zip(self.wheels, option.rows, strict=True)
        )

    def effort(self, option: Option) -> Array:
        """What an option asks of the workshop, least first, (6,): its wheels added up.

        A rack that both wheels share is moved once.
        """
        each = [wheel.effort[:, row] for wheel, row in zip(self.wheels, option.rows, strict=True)]
        total: Array = np.sum(each, axis=0)
        total[[DRILLS, CHANGED]] = total[[DRILLS, CHANGED]] > 0.0
        if len(each) > 1 and self.shares_rack:
            raised = each[0][RAISED]
            again = self.wheels[0].evaluator.case.effort.rack * (raised > 0.0)
            total[RAISED], total[WORK] = raised, total[WORK] - again
        return total

    def good_enough(self, best_peak: float) -> float:
        """Peak up to which work decides what is number 1, where the best is `best_peak`. [rad].

        What meets the tolerance is good enough where no gauge tells it from the best, or where the
        tape's own spread is `SPREADS` of the difference or more.  Where the best itself misses the
        tolerance nothing but the best, as far as a gauge tells, will do; nor where peaks are those
        over the possible cars, in which the tape's spread is.
        """
        if self.over is not None:
            return best_peak + RESOLUTION
        tolerance = self.wheels[0].evaluator.tolerance
        alike = 0.0 if best_peak > tolerance else self.tape_spread / SPREADS
        return good_enough(best_peak, tolerance, max(RESOLUTION, alike))

    @cached_property
    def tape_spread(self) -> float:
        """How far the tape leaves the toe change open, one standard deviation. [rad].

        Of two wheels that of the better measured one.
        """
        return min(toe_spread(wheel.evaluator) for wheel in self.wheels)

    @property
    def shares_rack(self) -> bool:
        """Whether one rack, or what the inner pivots sit in, serves both wheels."""
        return self.wheels[0].evaluator.case.words.steers

    def hardware_of(self, option: Option) -> Hardware:
        """Alternative that an option belongs to."""
        return self.hardware[self.wheels[0].place(option.rows[0])[0]]


def option_space(
    vehicle: Vehicle, kits: Sequence[Kit] = (), over: OverCars | None = None
) -> OptionSpace:
    """List what may be fitted to a car, with each of the kits or with its own hardware."""
    return space_with(alternatives(vehicle, kits), over)


def space_with(hardware: list[Hardware], over: OverCars | None = None) -> OptionSpace:
    """List what may be fitted with some alternatives of hardware."""
    count = len(hardware[0].cases)
    wheels = tuple(_candidates(hardware, k, over) for k in range(count))
    by_setting = count == 1 and all(one.kit is None for one in hardware)
    lots = [lot for number in range(len(hardware)) for lot in _lots(hardware, wheels, number)]
    return OptionSpace(hardware, wheels, lots, by_setting, over)


def _candidates(hardware: Sequence[Hardware], wheel: int, over: OverCars | None) -> Candidates:
    """One wheel's settings with every alternative; kits of one alignment share its poses."""
    families: dict[tuple[object, ...], list[int]] = {}
    for number, one in enumerate(hardware):
        case = one.cases[wheel]
        moves_as = case.points, case.lower_ball_joint, case.linkage_choices
        families.setdefault(moves_as, []).append(number)
    evaluators: dict[int, Evaluator] = {}
    for numbers in families.values():
        own = [Evaluator.of(hardware[number].cases[wheel]) for number in numbers]
        evaluators |= dict(zip(numbers, sharing_poses(own), strict=True))
    return Candidates(
        [
            Part(evaluators[number], wheel_space(one, wheel), one.drills, one.price)
            for number, one in enumerate(hardware)
        ],
        None if over is None else over.at(wheel),
    )


def wheel_space(hardware: Hardware, wheel: int) -> Space:
    """List one wheel's settings with an alternative of hardware."""
    if hardware.must_leave:
        return left_alone()
    stacks = None if hardware.stacks is None else hardware.stacks[wheel]
    case, extended = hardware.cases[wheel], hardware.extended
    return space_of(case, stacks, may_leave=hardware.may_leave, extended=extended)


def _lots(hardware: Sequence[Hardware], wheels: Sequence[Candidates], number: int) -> Iterator[Lot]:
    """Lots of one alternative."""
    one = hardware[number]
    if len(wheels) == 1:
        wheel = wheels[0]
        rows = wheel.rows_of(number)[wheel.parts[number].space.allowed]
        yield Lot(number, (_kit_name(one),), (by_bound(wheel, rows),))
        return
    spaces = [wheel.parts[number].space for wheel in wheels]
    for shared, local in by_shared(spaces, share=wheels[0].evaluator.case.words.steers):
        rows_of_each = [
            wheel.rows_of(number)[some] for wheel, some in zip(wheels, local, strict=True)
        ]
        seat: Seat = (_kit_name(one),) if one.kit else (number, *shared)
        yield Lot(number, seat, tuple(map(by_bound, wheels, rows_of_each)))


def by_shared(
    spaces: Sequence[Space], *, share: bool
) -> Iterator[tuple[tuple[float, ...], list[Rows]]]:
    """What the wheels share, if they do, and the rows of each wheel's space that go with it."""
    keys, rows = [], []
    for space in spaces:
        kept = space.allowed
        settings = space.settings.rows(kept)
        keys.append(np.stack([settings.rack_raise, settings.forward, settings.linkage], axis=1))
        rows.append(kept)
    if not share:
        yield (), rows
        return
    for shared in np.unique(np.concatenate(keys), axis=0):
        of_each = [some[(key == shared).all(axis=1)] for key, some in zip(keys, rows, strict=True)]
        if all(some.size for some in of_each):
            yield tuple(shared.tolist()), of_each


def _kit_name(hardware: Hardware) -> str | None:
    return None if hardware.kit is None else hardware.kit.name
