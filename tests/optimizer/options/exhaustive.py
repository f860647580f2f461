"""The slow way to the best option: every one by the exact solver and every limit, then sorted.

Shares with the program the closed-form poses, the limits and the list of one wheel's settings,
which have checks of their own; it has nothing of the toe-held estimate, its error bound, lots of
options, the walk and the study.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from geometry.motion import Reach
from geometry.vectors import turned
from geometry.wheel_angles import toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import toe_spread
from optimizer.limits.margins import Margin, margins
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.vehicle import Vehicle
from optimizer.options.hardware import case_with_kit
from optimizer.options.space import Space, space_of

Array = NDArray[np.float64]

RESOLUTION_DEG = 0.01
SAME_DEG = 1e-9
AT_A_TIME = 64
RACK_WORK, OTHER_WORK = 4.0, 6.0  # in pieces of a stack


def good_enough_deg(best_deg: float, evaluators: Sequence[Evaluator]) -> float:
    """Peak up to which less work is better than a smaller peak."""
    tolerance = evaluators[0].case.aim.tolerance_deg
    if best_deg > tolerance:
        return best_deg + RESOLUTION_DEG
    spread = min(float(np.degrees(toe_spread(one))) for one in evaluators)
    return min(tolerance, best_deg + max(RESOLUTION_DEG, spread / 4.0))


@dataclass(frozen=True)
class Exhaustive:
    """Every setting of a case, one by one; `as_is` is the car as it is, where that is another."""

    case: Case
    as_is: Case | None = None

    @cached_property
    def evaluator(self) -> Evaluator:
        return Evaluator.of(self.case)

    @cached_property
    def space(self) -> Space:
        return space_of(self.case)

    @cached_property
    def peak_deg(self) -> Array:
        """Peak toe change of each setting by the exact solver; infinite out of reach."""
        travel = self.evaluator.travel
        home = list(travel).index(0.0)
        peaks = []
        for rows in self._blocks():
            motion = self.evaluator.motion(self.space.settings.rows(rows), travel)
            toe = np.degrees(toe_angle(turned(motion.rotation, self.evaluator.corner.spin)))
            wanted = self.case.aim.toe_gain_deg_per_10mm * travel / 10.0
            change = np.abs(toe - toe[:, home, None] - wanted).max(axis=1)
            peaks.append(np.where((motion.reach == Reach.REACHED).all(axis=1), change, np.inf))
        return np.concatenate(peaks)

    @cached_property
    def fits(self) -> NDArray[np.bool_]:
        """Whether each setting keeps every limit."""
        return np.concatenate([np.all([x.margin >= 0.0 for x in some], 0) for some in self._limits])

    @cached_property
    def gap_mm(self) -> Array:
        """Smallest gap of each setting; infinite without obstacles."""
        found = margins(self.evaluator, self.space.settings, follow="smallest")
        none = np.full(len(self.space.settings), np.inf)
        return np.min([none, *(x.value for x in found if x.kind == "gap")], 0)

    @cached_property
    def rate_change(self) -> Array:
        """How much faster each setting steers than the car as it is; 0 on a rear axle."""
        as_is = self if self.as_is is None else Exhaustive(self.as_is)
        left = as_is.evaluator.steer_rate(as_is.space.settings)[as_is.space.left]
        change = np.abs(self.evaluator.steer_rate(self.space.settings) / left - 1.0)
        return change if self.case.words.steers else 0.0 * change

    @cached_property
    def _limits(self) -> list[list[Margin]]:
        settings = self.space.settings
        return [margins(self.evaluator, settings.rows(rows)) for rows in self._blocks()]

    @cached_property
    def best_deg(self) -> float:
        """Least peak of a setting that fits; infinite where none does."""
        return float(self.peak_deg[self.fits].min(initial=np.inf))

    @cached_property
    def ranking(self) -> list[int]:
        """Rows that fit, in the order in which they must be named."""
        rows = [int(row) for row in np.flatnonzero(self.fits)]
        limit = self.best_deg + RESOLUTION_DEG
        leading = [row for row in rows if self.peak_deg[row] <= limit]
        others = [row for row in rows if self.peak_deg[row] > limit]
        return sorted(leading, key=self.effort) + sorted(others, key=lambda row: self.peak_deg[row])

    def effort(self, row: int) -> tuple[float, ...]:
        """Leave it, less work, less stack, no rack change, and then the peak."""
        return *Made((self,), (row,), None).effort[1:-1], float(self.peak_deg[row])

    def _blocks(self) -> list[NDArray[np.intp]]:
        rows = np.arange(len(self.space.settings))
        return [rows[start : start + AT_A_TIME] for start in range(0, rows.size, AT_A_TIME)]


@dataclass(frozen=True)
class Made:
    """One option: a row of each wheel, with a kit or without; `extended` as in `Hardware`."""

    wheels: tuple[Exhaustive, ...]
    rows: tuple[int, ...]
    kit: Kit | None
    extended: bool = False

    @cached_property
    def peak_deg(self) -> float:
        """The worse wheel's."""
        return max(float(x.peak_deg[row]) for x, row in zip(self.wheels, self.rows, strict=True))

    @cached_property
    def fits(self) -> bool:
        return all(bool(x.fits[row]) for x, row in zip(self.wheels, self.rows, strict=True))

    @cached_property
    def fitted(self) -> list[tuple[float, float, float, int]]:
        """Stack, rack raise, its move forward and linkage of each wheel."""
        each = [(x.space.settings, row) for x, row in zip(self.wheels, self.rows, strict=True)]
        return [
            (*(float(x[row]) for x in (s.outer_drop, s.rack_raise, s.forward)), int(s.linkage[row]))
            for s, row in each
        ]

    @cached_property
    def effort(self) -> tuple[float, ...]:
        """No drilling, leave it, less work, less stack, no rack change, lower price."""
        pieces = [len(x.space.pieces(row)) for x, row in zip(self.wheels, self.rows, strict=True)]
        stacks, raises, forwards, linkages = zip(*self.fitted, strict=True)
        racks = [abs(up) + abs(forward) for up, forward in zip(raises, forwards, strict=True)]
        if self.wheels[0].case.words.steers:
            racks = racks[:1]  # one rack for both wheels
        drilled = self.kit is not None and self.kit.seat == "straight-bolt"
        changed = self.extended or any(any(one) for one in self.fitted)
        others = np.count_nonzero(linkages) + self.extended * len(self.wheels)
        work = sum(pieces) + RACK_WORK * np.count_nonzero(racks) + OTHER_WORK * others
        price = 0.0
        if self.kit is not None:
            price = np.inf if self.kit.price is None else self.kit.price * len(self.wheels)
        return drilled, changed, work, sum(map(abs, stacks)), sum(racks), price

    @cached_property
    def counts(self) -> tuple[object, ...]:
        """What a report prints of it, less is better: effort, toe, gap and steer rate."""
        each = list(zip(self.wheels, self.rows, strict=True))
        gap = min(x.gap_mm[row] for x, row in each)
        rate = max(x.rate_change[row] for x, row in each)
        return (
            self.effort,
            round(self.peak_deg * 1000.0),
            -np.round(gap * 10.0),
            round(rate * 1000.0),
        )

    def beats(self, other: "Made") -> bool:
        """Whether it is no worse on any count, and better on one."""
        pairs = list(zip(self.counts, other.counts, strict=True))
        return all(one <= two for one, two in pairs) and self.counts != other.counts

    @property
    def named(self) -> tuple[str | None, bool, list[tuple[float, float, float, int]]]:
        """What an answer must name it by."""
        return None if self.kit is None else self.kit.name, self.extended, self.fitted


@dataclass(frozen=True)
class EveryOption:
    """Every option of a car, with its own hardware or with each kit and left as it is.

    The `extended` are the car with other ball-joint extensions, where each is aligned for itself.
    """

    vehicle: Vehicle
    kits: Sequence[Kit] = ()
    extended: tuple[Vehicle, ...] = ()

    @cached_property
    def options(self) -> list[Made]:
        return [
            made
            for car in (self.vehicle, *self.extended)
            for kit in (self.kits or [None])
            for made in self._with(car, kit)
        ]

    @cached_property
    def as_is(self) -> Made:
        wheels = tuple(Exhaustive(case) for case in self.vehicle.wheels)
        return Made(wheels, tuple(x.space.left for x in wheels), None)

    @cached_property
    def best_deg(self) -> float:
        """Least worse-wheel peak of an option that fits; infinite where none does."""
        candidates = self.options if not self.kits else [*self.options, self.as_is]
        return min((made.peak_deg for made in candidates if made.fits), default=np.inf)

    @cached_property
    def ranking(self) -> list[Made]:
        """The options that fit, one a place, in the order in which they must be named."""
        limit = self.best_deg + RESOLUTION_DEG
        best = [self._best(place, limit) for place in self._places().values()]
        fitting = [made for made in best if made is not None]
        leading = [made for made in fitting if made.peak_deg <= limit]
        others = [made for made in fitting if made.peak_deg > limit]
        return sorted(leading, key=lambda made: (*made.effort, made.peak_deg)) + sorted(
            others, key=lambda made: (round(made.peak_deg, 9), *made.effort)
        )

    @cached_property
    def least_work(self) -> list[Made]:
        """The options that may be number 1: the least work of what is good enough, and the best.

        As far as a gauge tells the best.
        """
        candidates = self.options if not self.kits else [*self.options, self.as_is]
        good = good_enough_deg(self.best_deg, [x.evaluator for x in self.as_is.wheels])
        near = [made for made in candidates if made.fits and made.peak_deg <= good]
        least = min((made.effort[:3] for made in near), default=())
        same = [made for made in near if made.effort[:3] == least]
        if self.ranking and self.ranking[0] in same:
            return [self.ranking[0]]
        best = min((made.peak_deg for made in same), default=np.inf)
        return [made for made in same if made.peak_deg <= best + RESOLUTION_DEG]

    @cached_property
    def refused(self) -> list[Made]:
        """Of each place of which nothing fits what comes nearest, wheel by wheel, least peak first.

        A wheel that something fits keeps the best of that.
        """
        places = [some for some in self._places().values() if not any(x.fits for x in some)]
        nearest = [min(some, key=_unfit_then_peak) for some in places]
        return sorted(nearest, key=lambda made: (round(made.peak_deg, 9), *made.effort))

    def _with(self, car: Vehicle, kit: Kit | None) -> Iterator[Made]:
        """Options with a kit: what it can build, nothing stacked where its range starts there."""
        cases, extended = car.wheels, car is not self.vehicle
        wheels = tuple(
            Exhaustive(x if kit is None else case_with_kit(x, kit), as_is)
            for x, as_is in zip(cases, self.vehicle.wheels, strict=True)
        )
        for rows in product(*(range(len(x.space.settings)) for x in wheels)):
            made = Made(wheels, rows, kit, extended)
            built = [row < x.space.built for x, row in zip(wheels, rows, strict=True)]
            shares = len({one[1:] for one in made.fitted}) == 1
            may_be_left = kit is None and not extended
            if (shares or not cases[0].words.steers) and (may_be_left or all(built)):
                yield made

    def _places(self) -> dict[object, list[Made]]:
        """The options that compete for each place of the ranking."""
        if self.kits:
            kits: dict[object, list[Made]] = {None: [self.as_is]}
            for made in self.options:
                kits.setdefault(made.named[0], []).append(made)
            return kits
        if not self.vehicle.both_wheels:
            return {(made.extended, made.rows): [made] for made in self.options}
        heights: dict[object, list[Made]] = {}
        for made in self.options:
            shared = made.fitted[0][1:] if made.wheels[0].case.words.steers else ()
            heights.setdefault((made.extended, shared), []).append(made)
        return heights

    def _best(self, options: list[Made], limit: float) -> Made | None:
        """Simplest that leads, or else the simplest of those with the least peak."""
        fitting = [made for made in options if made.fits]
        least = min((made.peak_deg for made in fitting), default=np.inf)
        within = limit if least <= limit else least + SAME_DEG
        near = [made for made in fitting if made.peak_deg <= within]
        return min(near, key=lambda made: (*made.effort, made.peak_deg), default=None)


def _unfit_then_peak(made: Made) -> tuple[float, ...]:
    """How many wheels have nothing that fits, then the worse wheel's peak, then the others'."""
    each = list(zip(made.wheels, made.rows, strict=True))
    peaks = sorted((float(x.peak_deg[row]) for x, row in each), reverse=True)
    return sum(not x.fits[row] for x, row in each), *peaks
