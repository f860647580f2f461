"""How surely something holds, as it is said: in 10 where that is fine enough, else in 100."""

from optimizer.models.suggest import SuggestResult
from optimizer.wording.reader import Reader

FINE_IN_TEN = (0.095, 0.905)
AS_GOOD_AS_SURE = 0.99
OF_KIND = {"tilt": "the tilt of the ", "gap": "the gap of ", "thread": "the "}
CARS = (
    "Of {cars:,} possible cars, drawn with points and build as accurate as the case says, the same "
    "ones for every row: peaks, and in how many the tolerance and every limit of tilt, gap and "
    "thread are kept. Near the best: within 0.01 deg of the best that fits in that car."
)


def chance(probability: float) -> str:
    """Say a probability: "8 in 10", "5 in 100", "under 1 in 100"."""
    if FINE_IN_TEN[0] <= probability <= FINE_IN_TEN[1]:
        return f"{round(10.0 * probability)} in 10"
    hundredths = round(100.0 * probability)
    if hundredths < 1:
        return "< 1 in 100"
    return f"{hundredths} in 100" if hundredths < 100 else "> 99 in 100"


def percent(probability: float) -> str:
    """Say a probability where there is little room."""
    hundredths = round(100.0 * probability)
    if hundredths in (0, 100):
        return "<1 %" if hundredths == 0 else ">99 %"
    return f"{hundredths} %"


def cars_in_words(result: SuggestResult) -> list[str]:
    """Say what the table of chances counts, where there is one."""
    sure = [row.chances for row in result.ranked if row.chances is not None]
    return [CARS.format(cars=sure[0].cars)] if sure else []


def limits_kept_shortly(result: SuggestResult) -> str:
    """Add to what is said of number 1 in how many cars it keeps every limit, if not surely."""
    sure = None if result.first is None else result.first.chances
    if sure is None or sure.keeps_limits_probability >= AS_GOOD_AS_SURE:
        return ""
    return f" Limits kept: in {chance(sure.keeps_limits_probability)} such cars."


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
