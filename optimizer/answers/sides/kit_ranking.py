"""Kits ranked for a car of which both wheels were measured: each by its best pair of settings."""

from dataclasses import dataclass, replace

from geometry.toe_held import ToeHeldPoses
from optimizer.answers.kit_ranking import facts_of, kit_cautions, leading_order
from optimizer.answers.sides.causes import compared
from optimizer.answers.sides.pairs import Pair, pair_proof, total_toe
from optimizer.answers.sides.turns import with_turns_of_both
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.alignment import aligned_case
from optimizer.car.evaluate import Evaluator
from optimizer.files.kits import Kits
from optimizer.models.both_sides import BothSides
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.result import SuggestResult
from optimizer.models.together import RankedPair, SuggestOfBothSides, SuggestTogether
from optimizer.options.hardware import case_with_kit
from optimizer.options.proof import RESOLUTION
from optimizer.options.space import Space, rack_heights
from optimizer.options.study.search import Progress

Poses = dict[float, ToeHeldPoses]


def suggest_kits_for_both(
    car: BothSides, kits: Kits, plan: SuggestPlan | None = None, progress: Progress | None = None
) -> SuggestOfBothSides:
    """Rank kits for both wheels at once, and answer in full for number 1.

    Parameters
    ----------
    car : BothSides
        Both wheels; a kit takes the place of the stack or shelf of each.
    kits : Kits
        What may be bought, the same for both wheels.
    plan, progress
        As for `suggest`, which runs for each wheel with the best kit on; so does the search of a
        custom pivot.

    Returns
    -------
    SuggestOfBothSides
        `together` ranks one pair of settings a kit, and leaving the car as it is, in the order of
        `suggest_kits`.
    """
    plan = SuggestPlan() if plan is None else plan
    aligned = BothSides(*(aligned_case(case) for case in car.wheels))
    poses: tuple[Poses, Poses] = ({}, {})
    trials = [_Trial.of(aligned, kit, poses) for kit in (None, *kits.kits)]
    limit = min(pair.best_peak for trial in trials for pair in trial.pairs) + RESOLUTION
    ranked = [(trial.kit, trial.best(limit)) for trial in trials]
    as_is = ranked[0]
    ranked.sort(key=lambda one: _order(one[0], one[1], limit))
    kit, best = ranked[0] if ranked[0][1].fits else as_is
    left, right = with_turns_of_both(
        *(
            _answer(_with(kit, case), wheel.candidates.space, kit, plan, progress)
            for case, wheel in zip(car.wheels, best.wheels, strict=True)
        )
    )
    if kit is not None:
        cautions = [*kit_cautions(car.left, kit), *left.cautions]
        left = left.model_copy(update={"cautions": cautions})
    about_kits = {"kits": [facts_of(kit) for kit in kits.kits], "currency": kits.currency}
    return SuggestOfBothSides(
        **dict(left.model_copy(update=about_kits)),
        right=right,
        together=SuggestTogether(
            **dict(compared(car)),
            ranked=[_described(*one, limit, rank) for rank, one in enumerate(ranked, start=1)],
            certificate=pair_proof([pairs for trial in trials[1:] for pairs in trial.heights]),
            total_toe=total_toe(best),
        ),
    )


@dataclass(frozen=True)
class _Trial:
    """One kit on both wheels, or none: the pairs that it allows at each rack height."""

    kit: Kit | None
    heights: list[list[Pair]]

    @staticmethod
    def of(car: BothSides, kit: Kit | None, poses: tuple[Poses, Poses]) -> "_Trial":
        """Prove a kit's pairs; toe-held poses depend on no kit, so all trials share them."""
        fitted = [_with(kit, case) for case in car.wheels]
        evaluators = [
            replace(Evaluator.of(case), poses_by_drop=known)
            for case, known in zip(fitted, poses, strict=True)
        ]
        heights = [
            shared
            for shared in rack_heights(fitted[0])
            if shared is None or shared.rack_raise in fitted[0].rack.spacers
        ]
        proved = [Pair.at(evaluators, shared, kit_fitted=kit is not None) for shared in heights]
        return _Trial(kit, proved)

    @property
    def pairs(self) -> list[Pair]:
        """Pairs at all rack heights."""
        return [pair for pairs in self.heights for pair in pairs]

    def best(self, limit: float) -> Pair:
        """Best pair, as between rack heights."""
        return min(self.pairs, key=lambda pair: pair.order(limit))


def _order(kit: Kit | None, pair: Pair, limit: float) -> tuple[float, ...]:
    """What decides between kits, least first, as between those for one wheel."""
    refused, *effort, peak = pair.order(limit)
    return (refused, peak) if refused else leading_order(kit, effort, peak)


def _described(kit: Kit | None, pair: Pair, limit: float, rank: int) -> RankedPair:
    """Row of the ranking."""
    row = pair.described(pair.rows, limit, None if kit is None else kit.name)
    return row.model_copy(update={"rank": rank})


def _with(kit: Kit | None, case: Case) -> Case:
    """Make the case of a wheel with a kit on, or with nothing to choose from."""
    if kit is not None:
        return case_with_kit(case, kit)
    return case.model_copy(
        update={
            "outer_pivot": case.outer_pivot.model_copy(update={"stack": None}),
            "shelf": None,
            "rack": case.rack.model_copy(update={"spacers": (0.0,)}),
            "lower_ball_joint": case.lower_ball_joint.model_copy(
                update={"drop": case.linkage_choices[:1]}
            ),
        }
    )


def _answer(
    case: Case, space: Space, kit: Kit | None, plan: SuggestPlan, progress: Progress | None
) -> SuggestResult:
    """Answer for a wheel, the kit named in its rows: in that of no stack where it is on there."""
    answer = suggest(case, plan, progress, space)
    if kit is None:
        return answer
    name = {"kit": kit.name}
    custom = None if answer.custom is None else answer.custom.model_copy(update=name)
    ranked = [
        row if row.is_as_is and not space.left_competes else row.model_copy(update=name)
        for row in answer.ranked
    ]
    return answer.model_copy(update={"ranked": ranked, "custom": custom})
