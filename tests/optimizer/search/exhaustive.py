"""The slow way to the best setting: every one by the exact solver and every limit, then sorted.

Shares with the program the closed-form poses and the limits, which have checks of their own; it has
nothing of the toe-held estimate, its error bound, the walk and the study.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry.motion import Reach
from geometry.vectors import turned
from geometry.wheel_angles import toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.options.space import Space, space_of

Array = NDArray[np.float64]

RESOLUTION_DEG = 0.01
AT_A_TIME = 64


@dataclass(frozen=True)
class Exhaustive:
    """Every setting of a case, one by one."""

    case: Case

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
        return np.concatenate(
            [
                np.all(
                    [
                        limit.margin >= 0.0
                        for limit in margins(self.evaluator, self.space.settings.rows(rows))
                    ],
                    axis=0,
                )
                for rows in self._blocks()
            ]
        )

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

    def effort(self, row: int) -> tuple[bool, int, float, float, float]:
        """Leave it, fewer parts, less stack, no rack change, and then the peak."""
        settings, space = self.space.settings, self.space
        rack, drop = settings.rack_raise[row], settings.ball_joint_drop[row]
        parts = len(space.pieces(row)) + (rack != 0.0) + (drop != space.drops[0])
        stack = abs(float(settings.outer_drop[row]))
        return row != space.left, parts, stack, abs(float(rack)), float(self.peak_deg[row])

    def _blocks(self) -> list[NDArray[np.intp]]:
        rows = np.arange(len(self.space.settings))
        return [rows[start : start + AT_A_TIME] for start in range(0, rows.size, AT_A_TIME)]
