"""The possible cars of each wheel, drawn once, and options ranked by what they do in those."""

from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.settings import Settings
from optimizer.limits.kept import kept_in_cars
from optimizer.limits.margins import Margin

Criterion = Literal["nominal", "expected", "worst"]

WORST = 0.95  # share of the possible cars whose peak counts as not worse than the worst


class DrawnCars:
    """Cars that tape and build leave possible, each wheel's own.

    Alternatives of hardware that move the wheel alike share what is solved for them.  `count` cars,
    or as many as are worth their time.
    """

    def __init__(self, seed: int, count: int | None = None) -> None:
        self.seed, self.count = seed, count
        self._known: dict[tuple[int, int], ManyCars] = {}
        self._mirrored: dict[tuple[int, int], ManyCars] = {}

    def of(self, wheel: int, evaluator: Evaluator) -> ManyCars:
        """Cars of a wheel, by its place, with the hardware of an evaluator."""
        key = wheel, id(evaluator.corner)
        if key not in self._known:
            self._known[key] = ManyCars.drawn(evaluator, self.seed, wheel, self.count)
        return self._known[key]

    def mirrored(self, wheel: int, evaluator: Evaluator) -> ManyCars:
        """The same cars, and as many with every error to the other side."""
        key = wheel, id(evaluator.corner)
        if key not in self._mirrored:
            self._mirrored[key] = self.of(wheel, evaluator).mirrored()
        return self._mirrored[key]


class OverCars(Struct, frozen=True):
    """Ranks the settings of a wheel by their peak over the possible cars.

    By the mean ("expected"), or by what the peak does not exceed in `WORST` of them ("worst"); of
    settings that keep every limit in at least a share `kept` of them.
    """

    criterion: Criterion
    drawn: DrawnCars
    kept: float
    wheel: int = 0

    def at(self, wheel: int) -> "OverCars":
        """The same for another wheel."""
        return replace(self, wheel=wheel)

    def peaks(self, evaluator: Evaluator, settings: Settings) -> Array:
        """Peak by which each setting is ranked, (M,); infinite where it stops a car. [rad].

        Cars that can't be led over the used travel take no part.
        """
        cars = self.drawn.mirrored(self.wheel, evaluator)
        if not cars.sound.any():
            return np.full(len(settings), np.inf)
        peaks = np.minimum(cars.peaks(settings)[:, cars.sound], np.pi)
        if self.criterion == "expected":
            mean: Array = peaks.mean(axis=1)
            return mean
        worst: Array = np.quantile(peaks, WORST, axis=1, method="higher")
        return worst

    def limits_kept(self, evaluator: Evaluator, settings: Settings, found: list[Margin]) -> Array:
        """Share of the cars in which each setting keeps every limit, (M,)."""
        cars = self.drawn.of(self.wheel, evaluator)
        share: Array = kept_in_cars(evaluator, settings, found, cars)[0].mean(axis=1)
        return share
