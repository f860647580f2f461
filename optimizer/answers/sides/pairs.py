"""Both wheels of a car with the rack at one height, each with the best of its own settings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimizer.answers.suggest import settings_of
from optimizer.car.evaluate import Evaluator
from optimizer.models.both_sides import SIDES
from optimizer.models.together import PairProof, RankedPair, TotalToe
from optimizer.options.candidates import Candidates
from optimizer.options.proof import Proof, prove
from optimizer.options.space import Shared, Space, space_at


@dataclass(frozen=True)
class Wheel:
    """One wheel with the rack at one height, its settings there proved."""

    candidates: Candidates
    proof: Proof

    @staticmethod
    def of(evaluator: Evaluator, space: Space) -> "Wheel":
        """Prove every setting."""
        candidates = Candidates(evaluator, space)
        return Wheel(candidates, prove(candidates, wanted=1))

    @property
    def fits(self) -> bool:
        """Whether anything fits."""
        return bool(self.proof.fitting.size)

    @property
    def row(self) -> int:
        """Simplest of the best that fit; the best of all where none does."""
        space = self.candidates.space
        found = np.concatenate([self.proof.fitting, self.proof.refused])
        if found.size:
            return int(found[0])
        first = int(space.left == 0)  # of the other rows, if there are any
        return first if space.kit_fitted and len(space.settings) > 1 else space.left

    def peak(self, row: int) -> float:
        """Exact peak of a row. [rad]."""
        self.candidates.find_peaks(np.array([row]))
        return float(self.candidates.peak[row])


@dataclass(frozen=True)
class Pair:
    """Both wheels with the rack at one height."""

    shared: Shared | None
    left: Wheel
    right: Wheel

    @staticmethod
    def at(
        evaluators: Sequence[Evaluator], shared: Shared | None, *, kit_fitted: bool = False
    ) -> "list[Pair]":
        """Prove both wheels; one pair, or two that have the better of them between them.

        With a kit on, one wheel may do without a stack if the kit can be fitted so, but not both:
        that would be no kit.
        """
        spaces = [space_at(one.case, shared) for one in evaluators]
        if not kit_fitted:
            return [Pair(shared, *map(Wheel.of, evaluators, spaces))]
        fitted = [replace(space, kit_fitted=True) for space in spaces]
        wheels = [Wheel.of(*each) for each in zip(evaluators, fitted, strict=True)]
        if not all(space.left_competes and space.left_is_built for space in spaces):
            return [Pair(shared, *wheels)]
        bare = [Wheel.of(*each) for each in zip(evaluators, spaces, strict=True)]
        return [Pair(shared, wheels[0], bare[1]), Pair(shared, bare[0], wheels[1])]

    @property
    def wheels(self) -> tuple[Wheel, Wheel]:
        """Left and right wheel."""
        return self.left, self.right

    @property
    def fits(self) -> bool:
        """Whether something fits each wheel."""
        return self.left.fits and self.right.fits

    @property
    def best_peak(self) -> float:
        """Least that the worse wheel can have, infinite where a wheel has nothing. [rad]."""
        return max(wheel.proof.best_peak for wheel in self.wheels)

    @property
    def rows(self) -> tuple[int, int]:
        """Row of each wheel's best."""
        return self.left.row, self.right.row

    @property
    def kept(self) -> tuple[int, int]:
        """Rows that leave both wheels as they are."""
        return self.left.candidates.space.left, self.right.candidates.space.left

    def peak(self, rows: tuple[int, int]) -> float:
        """Larger of both wheels' exact peaks. [rad]."""
        return max(wheel.peak(row) for wheel, row in zip(self.wheels, rows, strict=True))

    def order(self, limit: float) -> tuple[float, ...]:
        """What decides between rack heights, least first, as between the settings of one wheel."""
        peak = self.peak(self.rows)
        if not self.fits or peak > limit:
            return (2.0 - self.fits, peak)
        efforts = [
            wheel.candidates.space.effort()[:, row]
            for wheel, row in zip(self.wheels, self.rows, strict=True)
        ]
        changed, parts, stack, raised = np.sum(efforts, axis=0).tolist()
        if self.shared is not None and raised:
            parts -= 1.0  # one spacer lifts both ends of the rack
        return (0.0, float(changed > 0.0), parts, stack, raised, peak)

    def described(self, rows: tuple[int, int], limit: float, kit: str | None = None) -> RankedPair:
        """Row of the ranking, its rank still open."""
        left, right = (
            settings_of(wheel.candidates, np.array([row]))[0]
            for wheel, row in zip(self.wheels, rows, strict=True)
        )
        peak = max(left.peak_toe_change_deg, right.peak_toe_change_deg)
        fits = left.fits and right.fits
        return RankedPair(
            rank=0,
            kit=kit,
            rack_raise_mm=None if self.shared is None else self.shared.rack_raise,
            ball_joint_drop_mm=None if self.shared is None else self.shared.ball_joint_drop,
            left=left,
            right=right,
            peak_toe_change_deg=peak,
            fits=fits,
            leading=fits and self.peak(rows) <= limit,
            is_as_is=rows == self.kept
            and all(wheel.candidates.space.left_competes for wheel in self.wheels),
            reasons=[
                f"{side} wheel: {reason}"
                for side, setting in zip(SIDES, (left, right), strict=True)
                for reason in setting.reasons
            ],
        )


def pair_proof(heights: Sequence[Sequence[Pair]]) -> PairProof:
    """How far the pairs at each height, see `Pair.at`, are proved."""
    best = min(pair.best_peak for pairs in heights for pair in pairs)
    counts = [
        np.max([[wheel.proof.combinations for wheel in pair.wheels] for pair in pairs], axis=0)
        for pairs in heights
    ]
    without_stacks = sum(len(pairs) - 1 for pairs in heights)  # in neither of two pairs
    left, right = np.sum(counts, axis=0).tolist()
    return PairProof(
        rack_heights=len({pairs[0].shared for pairs in heights}),
        left_settings=left,
        right_settings=right,
        pairs=int(np.prod(counts, axis=1).sum()) - without_stacks,
        best_peak_toe_change_deg=float(np.degrees(best)) if np.isfinite(best) else None,
    )


def total_toe(best: Pair) -> TotalToe:
    """Toe change of both wheels as they are and with the best pair."""
    before, after = [], []
    for wheel, row in zip(best.wheels, best.rows, strict=True):
        evaluator, space = wheel.candidates.evaluator, wheel.candidates.space
        rows = space.settings.rows(np.array([space.left, row]))
        now, then = np.degrees(evaluator.toe_change(rows))
        before.append(now)
        after.append(then)
    return TotalToe(
        travel_mm=best.left.candidates.evaluator.travel.tolist(),
        total_as_is_deg=(before[0] + before[1]).tolist(),
        difference_as_is_deg=(before[0] - before[1]).tolist(),
        total_best_deg=(after[0] + after[1]).tolist() if best.fits else None,
        difference_best_deg=(after[0] - after[1]).tolist() if best.fits else None,
    )
