"""What the points' accuracy leaves of a promise, and what to measure again."""

from optimizer.models.setting import Chances, Uncertainty
from optimizer.models.suggest import SuggestResult, WheelAnswer
from optimizer.wording.odds import percent
from optimizer.wording.reader import Reader

ACCURATE = "With points and build as accurate as the case says"


def sureness_in_words(wheel: WheelAnswer, result: SuggestResult, reader: Reader) -> str:
    """Say it of one wheel with number 1, or of the car as it is where nothing fits."""
    sure = wheel.uncertainty
    told = "the car left as it is" if result.first is None else "number 1"
    telling = ""
    if sure.remeasure_share > 0.0:
        share = f"{100.0 * sure.remeasure_share:.0f} % of the spread"
        telling = f"; the most telling measurement is {sure.remeasure} ({share})"
    return (
        f"{reader.of_wheel(wheel.side)}{ACCURATE}, {told} "
        f"{chances(sure, result.tolerance_deg, reader)}{telling}.{without_x(sure, reader)} "
        "Only a gauge on the car makes it sure."
    )


def without_x(sure: Uncertainty, reader: Reader) -> str:
    """Say what measuring x would bring, where points were given in the front view only."""
    if sure.peak_95_with_x_deg is None:
        return ""
    known = reader.toe_with_unit(sure.peak_95_with_x_deg)
    return f" x was not measured but taken as usual: with it, it would be below {known}."


def chances(sure: Uncertainty | Chances, tolerance_deg: float, reader: Reader) -> str:
    """Say how low a peak stays, and how likely it is within the tolerance; without its subject."""
    return (
        f"peaks below {reader.toe_with_unit(sure.peak_95_deg)} with 95 % probability and stays "
        f"within {reader.toe_with_unit(tolerance_deg)} with "
        f"{percent(sure.meets_tolerance_probability)}"
    )
