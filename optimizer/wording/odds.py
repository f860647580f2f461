"""How surely something holds, as it is said: of 10 where that is exact, else of 100."""

from math import floor

AS_GOOD_AS_SURE = 0.99
ROUNDING = 1e-9  # of a hundredth that was written as a decimal
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
    """Say a probability, never too high: "9 of 10", "86 of 100", "< 1 of 100"."""
    hundredths = _hundredths(probability)
    if 0 < hundredths < 100 and hundredths % 10 == 0:
        return f"{hundredths // 10} of 10"
    if hundredths < 1:
        return "< 1 of 100"
    return f"{hundredths} of 100" if hundredths < 100 else "> 99 of 100"


def percent(probability: float) -> str:
    """Say a probability where there is little room, never too high."""
    hundredths = _hundredths(probability)
    if hundredths < 1:
        return "<1 %"
    return f"{hundredths} %" if hundredths < 100 else ">99 %"


def _hundredths(probability: float) -> int:
    return floor(100.0 * probability + ROUNDING)
