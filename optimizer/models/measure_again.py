"""What to measure again, and what that would make of the choice."""

from optimizer.models.answer import Answer
from optimizer.units import Side


class MeasuredAgain(Answer):
    """One coordinate or length, measured again as exactly as `to_mm`, one standard deviation.

    `points` has one name and `axis` says which coordinate of it, or two names and `axis` is None.
    `peak_mean_deg` is the mean peak with the setting that is then chosen, `meets_probability` that
    of keeping the tolerance with it;
    `first_order` and `total_order` are shares of the variance of number 1's peak: what goes if this
    alone were known, and what is left if all else were.
    """

    points: list[str]
    axis: str | None
    to_mm: float
    peak_mean_deg: float
    meets_probability: float
    first_order: float
    total_order: float


class MeasureAgain(Answer):
    """What is worth measuring again at one wheel, what helps most first.

    Of `cars` possible cars, `peak_mean_deg` and `meets_probability` are those of what is chosen now
    by the mean peak, of `settings` that keep every limit on the car as measured; what ends in
    `_together` is what is left after the first `together` coordinates of the list have all been
    measured again.
    """

    side: Side
    cars: int
    settings: int
    peak_mean_deg: float
    meets_probability: float
    ranked: list[MeasuredAgain]
    together: int
    peak_mean_together_deg: float
    meets_probability_together: float
