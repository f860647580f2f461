"""Kits ranked against each other for one car: each by its best setting, proved like any other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.toe_held import ToeHeldPoses
from optimizer.answers.alignment_effect import alignment_effect
from optimizer.answers.suggest import SuggestPlan, custom_of, settings_of, suggest
from optimizer.car.adjust import Rows
from optimizer.car.evaluate import Evaluator
from optimizer.files.kits import Kits
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.result import Certificate, KitFacts, Ranked, SuggestResult
from optimizer.models.stacks import BuildableStack
from optimizer.options.candidates import Candidates
from optimizer.options.hardware import case_with_kit
from optimizer.options.proof import RESOLUTION, Proof, prove
from optimizer.options.space import space_of
from optimizer.options.study.search import Progress
from optimizer.options.trade_offs import Rivals, rate_change

DRILLED = (
    "{kit} is held by a straight bolt: fitting it drills the arm's taper out, which can't be "
    "undone and leaves the bolt located by clamping alone."
)
UNKNOWN_STUD = (
    "{kit} states no stud, and the car's own is held otherwise: what the stack asks of the stud is "
    "not judged."
)

SAME_DEG = 1e-9  # two peaks of one setting, solved in batches of their own, differ by less
CONSIDERED = 12  # settings of each kit that may stand for it


@dataclass(frozen=True)
class _Trial:
    """One kit, or none, on the car: its settings, proved, with `rows` that may stand for it."""

    kit: Kit | None
    candidates: Candidates
    proof: Proof | None
    rows: Rows

    @staticmethod
    def of(case: Case, kit: Kit | None, poses: dict[float, ToeHeldPoses]) -> "_Trial":
        """Prove a kit's settings; toe-held poses depend on no kit, so all trials share them."""
        fitted = case if kit is None else case_with_kit(case, kit)
        bare = Evaluator.of(fitted)
        evaluator = Evaluator(fitted, bare.corner, bare.travel, poses)
        space = space_of(fitted, [BuildableStack(0.0, ())] if kit is None else None)
        candidates = Candidates(evaluator, replace(space, kit_fitted=kit is not None))
        if kit is None:
            left = np.array([space.left])
            candidates.find_peaks(left)
            candidates.find_limits(left)
            return _Trial(kit, candidates, None, left)
        proof = prove(candidates, wanted=CONSIDERED)
        fits = np.flatnonzero(candidates.violation == 0.0)
        others = [*proof.refused, *range(len(space.settings))]
        rest = [row for row in others if row != space.left] or [space.left]
        return _Trial(kit, candidates, proof, fits if fits.size else np.array(rest[:1]))

    @property
    def fits(self) -> bool:
        """Whether anything fits."""
        return bool(self.candidates.fits(self.rows[:1])[0])

    @property
    def best_peak(self) -> float:
        """Smallest peak of a setting that fits, infinite where none does. [rad]."""
        return float(self.candidates.peak[self.rows].min()) if self.fits else np.inf

    def row(self, limit: float) -> int:
        """Simplest setting whose peak is within a limit, or else the one with the smallest."""
        peak, effort = self.candidates.peak[self.rows], self.candidates.space.effort()
        within = np.flatnonzero(peak <= limit)
        if self.fits and within.size:
            keys = [*effort[:, self.rows[within]], peak[within]]
            return int(self.rows[within[np.lexsort(keys[::-1])[0]]])
        return int(self.rows[np.argmin(peak)])

    @property
    def allowed(self) -> Rows:
        """Rows that are settings: all with the kit fitted, or only leaving the car as it is."""
        left = self.candidates.space.left
        everything = np.arange(len(self.candidates.space.settings))
        allowed: Rows = everything[(everything == left) == (self.kit is None)]
        return allowed

    def ranked(self, limit: float, *, unbeaten: bool | None) -> Ranked:
        """Row of the ranking, its rank still open."""
        row = self.row(limit)
        setting = settings_of(self.candidates, np.array([row]))[0]
        leading = setting.fits and bool(self.candidates.peak[row] <= limit)
        faster = 100.0 * float(rate_change(self.candidates)[row])
        steers = self.candidates.evaluator.case.words.steers
        return Ranked(
            **setting.model_dump(),
            rank=0,
            leading=leading,
            is_as_is=self.kit is None,
            unbeaten=unbeaten,
            steer_rate_change_percent=faster if steers else None,
            kit=None if self.kit is None else self.kit.name,
        )

    def order(self, ranked: Ranked, limit: float) -> tuple[float, ...]:
        """What decides between kits, least first."""
        if not ranked.leading:
            return (2.0 - ranked.fits, ranked.peak_toe_change_deg)
        effort = self.candidates.space.effort()[:, self.row(limit)]
        return leading_order(self.kit, effort.tolist(), ranked.peak_toe_change_deg)


def suggest_kits(
    case: Case, kits: Kits, plan: SuggestPlan | None = None, progress: Progress | None = None
) -> SuggestResult:
    """Rank kits for a car, and answer in full for the best of them.

    Parameters
    ----------
    case : Case
        The car; each kit takes the place of its stack or shelf.
    kits : Kits
        What may be bought.
    plan, progress
        As for `suggest`, which runs for the best kit; a custom pivot may carry any of them.

    Returns
    -------
    SuggestResult
        `ranked` holds one setting a kit, those that fit first, and leaving the car as it is.
        Within the leading group a kit that leaves the taper alone goes first, then less effort,
        then the lower price.
    """
    plan = SuggestPlan() if plan is None else plan
    case, alignment = alignment_effect(case)
    poses: dict[float, ToeHeldPoses] = {}
    trials = [_Trial.of(case, kit, poses) for kit in (None, *kits.kits)]
    limit = min(trial.best_peak for trial in trials) + RESOLUTION
    rivals = Rivals([trial.candidates for trial in trials], [trial.allowed for trial in trials])
    ranked = []
    for place, trial in enumerate(trials):
        (unbeaten,) = rivals.unbeaten(place, np.array([trial.row(limit)]))
        ranked.append((trial, trial.ranked(limit, unbeaten=unbeaten)))
    ranked.sort(key=lambda pair: pair[0].order(pair[1], limit))
    best = next(trial for trial, _ in ranked if trial.kit is not None)
    result = suggest(best.candidates.evaluator.case, replace(plan, custom=False), progress)
    proved = _certificate(result.certificate, trials, limit - RESOLUTION)
    cautions = result.cautions
    if best.kit is not None and ranked[0][1].fits:
        cautions = [*kit_cautions(case, best.kit), *cautions]
    return result.model_copy(
        update={
            "alignment": alignment,
            "as_is": next(row for trial, row in ranked if trial.kit is None),
            "ranked": [
                row.model_copy(update={"rank": rank}) for rank, (_, row) in enumerate(ranked, 1)
            ],
            "certificate": proved,
            "custom": custom_of(
                trials[0].candidates.evaluator,
                plan,
                proved.best_peak_toe_change_deg,
                progress,
                kits.kits,
            ),
            "cautions": cautions,
            "kits": [facts_of(kit) for kit in kits.kits],
            "currency": kits.currency,
        }
    )


def leading_order(kit: Kit | None, effort: Sequence[float], peak: float) -> tuple[float, ...]:
    """What decides between kits of the leading group, least first; None is the car as it is."""
    drilled = kit is not None and kit.irreversible
    price = 0.0 if kit is None else kit.known_price
    return (0.0, float(drilled), *effort, price, peak)


def kit_cautions(case: Case, kit: Kit) -> list[str]:
    """Say what fitting a kit undoes for good, and what can't be judged with it."""
    unknown = case.stud is not None and case_with_kit(case, kit).stud is None
    said = [*([DRILLED] if kit.irreversible else []), *([UNKNOWN_STUD] if unknown else [])]
    return [text.format(kit=kit.name) for text in said]


def _certificate(study: Certificate, trials: Sequence[_Trial], best_peak: float) -> Certificate:
    """Proof over all kits; the study is that of the best kit."""
    best = float(np.degrees(best_peak)) if np.isfinite(best_peak) else None
    found = study.study_peak_toe_change_deg
    gap = None if best is None or found is None else found - best
    proofs = [trial.proof for trial in trials if trial.proof is not None]
    return study.model_copy(
        update={
            "combinations": sum(proof.combinations for proof in proofs),
            "solved_exactly": sum(proof.solved for proof in proofs),
            "best_peak_toe_change_deg": best,
            "study_gap_deg": gap if gap is None or gap > SAME_DEG else 0.0,
        }
    )


def facts_of(kit: Kit) -> KitFacts:
    """What a kit is held by, costs and weighs."""
    return KitFacts(
        name=kit.name,
        seat=kit.seat,
        irreversible=kit.irreversible,
        price=kit.price,
        mass_g=kit.mass_g,
    )
