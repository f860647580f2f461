"""How surely something holds, as it is said: in 10 where that is fine enough, else in 100."""

from optimizer.models.suggest import SuggestResult
from optimizer.wording.reader import Reader

FINE_IN_TEN = (0.095, 0.905)
AS_GOOD_AS_SURE = 0.99
OF_KIND = {"tilt": "the tilt of the ", "gap": "the gap of ", "thread": "the "}


def chance(probability: float) -> str:
    """Say a probability: "8 in 10", "5 in 100", "under 1 in 100"."""
    if FINE_IN_TEN[0] <= probability <= FINE_IN_TEN[1]:
        return f"{round(10.0 * probability)} in 10"
    hundredths = round(100.0 * probability)
    if hundredths < 1:
        return "< 1 in 100"
    return f"{hundredths} in 100" if hundredths < 100 else "> 99 in 100"


def limits_kept(result: SuggestResult, reader: Reader) -> list[str]:
    """Say how surely number 1 keeps every limit, and which one least; nothing if sure."""
    sure = None if result.first is None else result.first.chances
    if sure is None or sure.keeps_limits_probability >= AS_GOOD_AS_SURE or not sure.limits:
        return []
    least = min(sure.limits, key=lambda one: one.probability)
    name = f"{reader.side(least.side)}{least.name}"
    return [
        f"Number 1 keeps every limit in {chance(sure.keeps_limits_probability)} such cars; least "
        f"surely that of {OF_KIND[least.kind]}{name}."
    ]
