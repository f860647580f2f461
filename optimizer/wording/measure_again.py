"""What to measure again, and what that would make of the choice, in words."""

from optimizer.models.measure_again import MeasureAgain, MeasuredAgain
from optimizer.models.suggest import SuggestResult
from optimizer.units import short_length
from optimizer.wording.odds import chance
from optimizer.wording.reader import Reader

SAID = 6
SMALLEST_GAIN = 0.01  # share of the mean peak; less is not worth a second measurement
NOW = (
    "Chosen by the mean peak over {cars:,} possible cars, the car peaks at {peak} on average and "
    "keeps the tolerance in {met}. Measured again to {to}, and chosen anew, on average:"
)
ONE = "{what}: {peak}, tolerance kept in {met} ({first} of the spread alone, {total} with others)"
TOGETHER = (
    "the first {count} coordinates together: {peak}, tolerance kept in {met}. What is left is of "
    "all the others and of the build; readings of a gauge on the car tell more than any point."
)
NOTHING = "No single point is worth a second measurement; a gauge on the car is."


def measure_again_in_words(result: SuggestResult, reader: Reader) -> list[list[str]]:
    """Say of each wheel what helps, most first; its first line leads the others. Empty unasked."""
    asked = [wheel.measure_again for wheel in result.wheels]
    return [_of_a_wheel(one, reader) for one in asked if one is not None]


def _of_a_wheel(found: MeasureAgain, reader: Reader) -> list[str]:
    to = short_length(found.ranked[0].to_mm, reader.subject.units) if found.ranked else ""
    now = reader.of_wheel(found.side) + NOW.format(
        cars=found.cars,
        peak=reader.toe_with_unit(found.peak_mean_deg),
        met=chance(found.meets_probability),
        to=to,
    )
    most = (1.0 - SMALLEST_GAIN) * found.peak_mean_deg
    worth = [one for one in found.ranked if one.peak_mean_deg <= most][:SAID]
    if not worth:
        return [f"{now} nothing better.", NOTHING]
    together = TOGETHER.format(
        count=found.together,
        peak=reader.toe_with_unit(found.peak_mean_together_deg),
        met=chance(found.meets_probability_together),
    )
    return [now, *(_one(one, reader) for one in worth), together]


def _one(one: MeasuredAgain, reader: Reader) -> str:
    what = f"{one.points[0]} {one.axis}" if one.axis else f"length {' to '.join(one.points)}"
    first, total = (f"{100.0 * max(0.0, x):.0f} %" for x in (one.first_order, one.total_order))
    return ONE.format(
        what=what,
        peak=reader.toe_with_unit(one.peak_mean_deg),
        met=chance(one.meets_probability),
        first=first,
        total=total,
    )
