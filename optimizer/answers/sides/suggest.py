"""The main job for a car of which both wheels were measured: one rack, a stack for each wheel.

At every height that the rack can have, each wheel's own best stack is proved as for a wheel alone,
so no other pair of stacks there is better on the worse wheel.  The rack heights are then ranked.
"""

from optimizer.answers.sides.causes import compared
from optimizer.answers.sides.pairs import Pair, pair_proof, total_toe
from optimizer.answers.sides.turns import with_turns_of_both
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.evaluate import Evaluator
from optimizer.models.both_sides import BothSides
from optimizer.models.together import (
    RankedPair,
    SuggestOfBothSides,
    SuggestTogether,
)
from optimizer.options.proof import RESOLUTION
from optimizer.options.space import rack_heights
from optimizer.options.study.search import Progress


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
    pairs = [pair for shared in rack_heights(car.left) for pair in Pair.at(evaluators, shared)]
    as_is = next(pair for pair in pairs if pair.left.candidates.space.left_competes)
    limit = min(pair.best_peak for pair in pairs) + RESOLUTION
    pairs.sort(key=lambda pair: pair.order(limit))
    best = pairs[0] if pairs[0].fits else as_is
    left, right = with_turns_of_both(
        *(
            suggest(case, plan, progress, wheel.candidates.space)
            for case, wheel in zip(car.wheels, best.wheels, strict=True)
        )
    )
    return SuggestOfBothSides(
        **dict(left),
        right=right,
        together=SuggestTogether(
            **dict(compared(car)),
            ranked=_ranked(pairs, as_is, plan.shown, limit),
            certificate=pair_proof([[pair] for pair in pairs]),
            total_toe=total_toe(best),
        ),
    )


def _ranked(pairs: list[Pair], as_is: Pair, shown: int, limit: float) -> list[RankedPair]:
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
