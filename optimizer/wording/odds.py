"""How surely something holds, as it is said: in 10 where that is as fine, else in 100."""

from math import floor

AS_GOOD_AS_SURE = 0.99
OF_KIND = {
    "tilt": "the tilt of the ",
    "gap": "the gap of ",
    "thread": "the ",
    "steered": "the ",
    "turn": "turn toe-out at ",
    "roll": "roll steer at ",
}

OTHER_WHEEL = (
    "Peaks and limits are of the worse wheel: the other side may differ from a mirror image by "
    "what [accuracy] left_right says."
)


def chance(probability: float) -> str:
    """Say a probability: "8 in 10", "5 in 100", "under 1 in 100"."""
    hundredths = round(100.0 * probability)
    if hundredths < 1:
        return "< 1 in 100"
    if hundredths % 10 == 0 and hundredths < 100:
        return f"{hundredths // 10} in 10"
    return f"{hundredths} in 100" if hundredths < 100 else "> 99 in 100"


def at_least(probability: float) -> str:
    """Say a probability that is not to be said too high: in whole hundredths below it."""
    return chance(floor(100.0 * probability) / 100.0)


def percent(probability: float) -> str:
    """Say a probability where there is little room."""
    hundredths = round(100.0 * probability)
    if hundredths in (0, 100):
        return "<1 %" if hundredths == 0 else ">99 %"
    return f"{hundredths} %"
