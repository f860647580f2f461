"""How the options of a ranking come out in possible cars, and by what they were ranked."""

from optimizer.models.setting import Chances, Ranked, Uncertainty
from optimizer.models.suggest import SuggestResult, WheelAnswer
from optimizer.wording.fitting import what_to_fit
from optimizer.wording.odds import AS_GOOD_AS_SURE, OF_KIND, OTHER_WHEEL, chance, percent
from optimizer.wording.reader import Reader

CARS = (
    "Of {cars:,} possible cars, drawn with points and build as accurate as the case says, the same "
    "ones for every row: peaks, and in how many the {wanted} and every limit are kept. Near the "
    "best: within {resolution} of the best for that car."
)
MEANS = {
    "expected": "the mean of their peaks over the possible cars",
    "worst": "the peak that they do not exceed in 95 of 100 possible cars",
}
RANKED_BY = (
    "Options are ranked by {mean}, those that are alike by the work that they are; those fit that "
    "keep every limit in {kept} of them.{each}"
)
EACH_BY_ITSELF = (
    " Both are of each wheel by itself, the worse one counting; all else that is said of possible "
    "cars is of both wheels at once, which peak higher and keep their limits in fewer."
)
THE_SAME = "The car as measured would put the same first."
OTHER = (
    "The car as measured would put {fits} first: as measured it peaks at {other_nominal}, number 1 "
    "at {first_nominal}; over the possible cars {other} against {first}, and it keeps every limit "
    "in {other_kept}, number 1 in {first_kept}."
)
NOTHING_SO_SURELY = (
    "The car as measured would put {fits} first, which keeps every limit in {kept} of them."
)
SURER = (
    "Number {rank} keeps every limit in {kept} possible cars, number 1 in {first}; `--rank-by "
    "expected` puts first what keeps them in {asked}."
)
SEEK_SURER = (
    "Number 1 keeps every limit in {first} possible cars; `--rank-by expected` seeks what keeps "
    "them in {asked}."
)


def cars_in_words(result: SuggestResult) -> list[str]:
    """Say what the table of chances counts, where there is one."""
    sure = [row.chances for row in result.ranked if row.chances is not None]
    if not sure:
        return []
    cars = CARS.format(
        cars=sure[0].cars,
        wanted="wanted band" if sure[0].of_band else "tolerance",
        resolution=Reader(result.subject).resolution,
    )
    return [cars, *([OTHER_WHEEL] if sure[0].other_wheel else [])]


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


def ranked_by_in_words(result: SuggestResult, reader: Reader) -> list[str]:
    """Say by what options were ranked, and how number 1 differs from the car as measured's.

    Of a ranking by the car as measured, say what keeps its limits more surely than number 1.
    """
    by = result.ranked_by
    if by is None:
        return _surer(result)
    each = EACH_BY_ITSELF if reader.subject.both_wheels else ""
    said = RANKED_BY.format(mean=MEANS[by.criterion], kept=chance(by.limits_kept), each=each)
    other, first = by.nominal_first, result.first
    if other is None:
        return [said if first is None else f"{said} {THE_SAME}"]
    if other.chances is None or (first is not None and first.ranked_peak_deg is None):
        return [said]
    fits = "; ".join(
        f"{reader.wheel(wheel.side)}{what_to_fit(wheel, reader, as_is=other.is_as_is)}"
        for wheel in other.wheels
    )
    kit = "" if other.kit is None else f"{other.kit}: "
    if first is None:
        kept = chance(other.chances.keeps_limits_probability)
        return [said, NOTHING_SO_SURELY.format(fits=f"{kit}{fits}", kept=kept)]
    numbers = _compared(first, other, reader)
    return [said, OTHER.format(fits=f"{kit}{fits}", **numbers)]


def _surer(result: SuggestResult) -> list[str]:
    surer, by_rank = result.surer, {row.rank: row.chances for row in result.ranked}
    if surer is None:
        return []
    first, other = by_rank[1], None if surer.rank is None else by_rank[surer.rank]
    assert first is not None
    said = {"first": chance(first.keeps_limits_probability), "asked": chance(surer.limits_kept)}
    if said["first"] == said["asked"]:  # too little less to be told
        return []
    if other is None:
        return [SEEK_SURER.format(**said)]
    kept = chance(other.keeps_limits_probability)
    return [SURER.format(rank=surer.rank, kept=kept, **said)]


def _compared(first: Ranked, other: Ranked, reader: Reader) -> dict[str, str]:
    """Peaks and limits of number 1 and of what the car as measured would have put first."""
    numbers: dict[str, str] = {}
    for name, row in (("first", first), ("other", other)):
        assert row.chances is not None
        assert row.ranked_peak_deg is not None
        numbers[name] = reader.toe_with_unit(row.ranked_peak_deg)
        numbers[f"{name}_nominal"] = reader.toe_with_unit(row.peak_toe_change_deg)
        numbers[f"{name}_kept"] = chance(row.chances.keeps_limits_probability)
    return numbers


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
    """Say how low a peak stays, and how likely it is to be good enough; without its subject."""
    low = reader.toe_with_unit(sure.peak_95_deg)
    within = f"stays within {reader.toe_with_unit(tolerance_deg)}"
    if sure.of_band:
        low, within = f"{low} from the middle of the wanted band", "keeps the band"
    likely = percent(sure.meets_tolerance_probability)
    return f"peaks below {low} with 95 % probability and {within} with {likely}"
