"""The main job for a car of which both wheels were measured: one rack, a stack for each wheel.

At every height that the rack can have, each wheel's own best stack is proved as for a wheel alone,
so no other pair of stacks there is better on the worse wheel.  The rack heights are then ranked.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimizer.evaluate import Evaluator
from optimizer.models.both_sides import SIDES, BothSides
from optimizer.models.together import (
    PairProof,
    RankedPair,
    SuggestOfBothSides,
    SuggestTogether,
    TotalToe,
)
from optimizer.search.candidates import Candidates
from optimizer.search.certificate import RESOLUTION, Proof, prove
from optimizer.search.space import Shared, rack_heights, space_at
from optimizer.search.study import Progress
from optimizer.sides.causes import compared
from optimizer.suggest import SuggestPlan, settings_of, suggest


def suggest_both(
    car: BothSides, plan: SuggestPlan | None = None, progress: Progress | None = None
) -> SuggestOfBothSides:
    """Find what to fit to both wheels.

    Parameters
    ----------
    car : BothSides
        Both wheels, their hardware and their limits.
    plan, progress
        As for `suggest`, which runs for each wheel at the rack height of the best pair.

    Returns
    -------
    SuggestOfBothSides
        `together` ranks the rack heights by the larger of both peaks; a rack spacer and a
        ball-joint extension go on both sides or on neither.
    """
    plan = SuggestPlan() if plan is None else plan
    evaluators = [Evaluator.of(case) for case in car.wheels]
    pairs = [_Pair.at(evaluators, shared) for shared in rack_heights(car.left)]
    as_is = next(pair for pair in pairs if pair.left.candidates.space.left_competes)
    limit = min(pair.best_peak for pair in pairs) + RESOLUTION
    pairs.sort(key=lambda pair: pair.order(limit))
    best = pairs[0] if pairs[0].fits else as_is
    left, right = (
        suggest(case, replace(plan, shared=best.shared), progress) for case in car.wheels
    )
    return SuggestOfBothSides(
        **dict(left),
        right=right,
        together=SuggestTogether(
            **dict(compared(car)),
            ranked=_ranked(pairs, as_is, plan.shown, limit),
            certificate=_certificate(pairs),
            total_toe=_total_toe(best),
        ),
    )


@dataclass(frozen=True)
class _Wheel:
    """One wheel with the rack at one height, its settings there proved."""

    candidates: Candidates
    proof: Proof

    @staticmethod
    def at(evaluator: Evaluator, shared: Shared | None) -> "_Wheel":
        """Prove every setting."""
        candidates = Candidates(evaluator, space_at(evaluator.case, shared))
        return _Wheel(candidates, prove(candidates, wanted=1))

    @property
    def fits(self) -> bool:
        return bool(self.proof.fitting.size)

    @property
    def row(self) -> int:
        """Simplest of the best that fit; the best of all where none does."""
        rows = [*self.proof.fitting, *self.proof.refused, self.candidates.space.left]
        return int(rows[0])

    def peak(self, row: int) -> float:
        """Exact peak of a row. [rad]."""
        self.candidates.find_peaks(np.array([row]))
        return float(self.candidates.peak[row])


@dataclass(frozen=True)
class _Pair:
    """Both wheels with the rack at one height."""

    shared: Shared | None
    left: _Wheel
    right: _Wheel

    @staticmethod
    def at(evaluators: Sequence[Evaluator], shared: Shared | None) -> "_Pair":
        """Prove both wheels."""
        return _Pair(shared, *(_Wheel.at(evaluator, shared) for evaluator in evaluators))

    @property
    def wheels(self) -> tuple[_Wheel, _Wheel]:
        return self.left, self.right

    @property
    def fits(self) -> bool:
        return self.left.fits and self.right.fits

    @property
    def best_peak(self) -> float:
        """Least that the worse wheel can have, infinite where a wheel has nothing. [rad]."""
        return max(wheel.proof.best_peak for wheel in self.wheels)

    @property
    def rows(self) -> tuple[int, int]:
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

    def described(self, rows: tuple[int, int], limit: float) -> RankedPair:
        """Row of the ranking, its rank still open."""
        left, right = (
            settings_of(wheel.candidates, np.array([row]))[0]
            for wheel, row in zip(self.wheels, rows, strict=True)
        )
        peak = max(left.peak_toe_change_deg, right.peak_toe_change_deg)
        fits = left.fits and right.fits
        return RankedPair(
            rank=0,
            rack_raise_mm=None if self.shared is None else self.shared.rack_raise,
            ball_joint_drop_mm=None if self.shared is None else self.shared.ball_joint_drop,
            left=left,
            right=right,
            peak_toe_change_deg=peak,
            fits=fits,
            leading=fits and self.peak(rows) <= limit,
            is_as_is=rows == self.kept and self.left.candidates.space.left_competes,
            reasons=[
                f"{side} wheel: {reason}"
                for side, setting in zip(SIDES, (left, right), strict=True)
                for reason in setting.reasons
            ],
        )


def _ranked(pairs: list[_Pair], as_is: _Pair, shown: int, limit: float) -> list[RankedPair]:
    """Those that fit, then the better ones that don't; leaving it as it is among them."""
    fitting = [pair for pair in pairs if pair.fits][:shown]
    refused = [pair for pair in pairs if not pair.fits][: max(1, shown // 2)]
    fitted, others = (
        [one.described(one.rows, limit) for one in some] for some in (fitting, refused)
    )
    if not any(row.is_as_is for row in (*fitted, *others)):
        kept = as_is.described(as_is.kept, limit)
        (fitted if kept.fits else others).append(kept)
    return [
        row.model_copy(update={"rank": rank})
        for rank, row in enumerate([*fitted, *others], start=1)
    ]


def _certificate(pairs: list[_Pair]) -> PairProof:
    best = min(pair.best_peak for pair in pairs)
    counts = [[wheel.proof.combinations for wheel in pair.wheels] for pair in pairs]
    left, right = np.sum(counts, axis=0).tolist()
    return PairProof(
        rack_heights=len(pairs),
        left_settings=left,
        right_settings=right,
        pairs=int(np.prod(counts, axis=1).sum()),
        best_peak_toe_change_deg=float(np.degrees(best)) if np.isfinite(best) else None,
    )


def _total_toe(best: _Pair) -> TotalToe:
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
