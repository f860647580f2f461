"""The possible cars of each wheel of an option space, drawn once; the same whatever is fitted."""

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import Rows
from optimizer.car.many_cars import ManyCars, cars_of
from optimizer.options.candidates import Candidates


class DrawnCars:
    """Cars that tape and build leave possible, each wheel's own.

    Alternatives of hardware that move the wheel alike share what is solved for them.
    """

    def __init__(self, wheels: tuple[Candidates, ...], seed: int) -> None:
        self.wheels, self.seed = wheels, seed
        self.count = cars_of(wheels[0].evaluator.corner)
        self._known: dict[tuple[int, int], ManyCars] = {}

    def of(self, wheel: int, part: int = 0) -> ManyCars:
        """Cars of a wheel with an alternative of hardware."""
        evaluator = self.wheels[wheel].parts[part].evaluator
        key = wheel, id(evaluator.corner)
        if key not in self._known:
            self._known[key] = ManyCars.drawn(evaluator, self.seed, wheel)
        return self._known[key]

    def peaks(self, wheel: int, rows: Rows) -> Array:
        """Peak toe change of some of a wheel's settings in every car, (M, N). [rad]."""
        candidates = self.wheels[wheel]
        parts = np.searchsorted(candidates.starts, rows, side="right") - 1
        peaks = np.empty((rows.size, self.count))
        for part in np.unique(parts).tolist():
            some = np.flatnonzero(parts == part)
            peaks[some] = self.of(wheel, part).peaks(candidates.settings.rows(rows[some]))
        return peaks

    def sound(self, wheel: int) -> NDArray[np.bool_]:
        """Cars of a wheel that can be led over the used travel, (N,)."""
        return self.of(wheel).sound
