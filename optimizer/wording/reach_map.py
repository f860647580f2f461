"""What stands in the map of `reach`: the words of a cell, and what explains them."""

from optimizer.models.reach import BlockedBy, ReachResult, ReachRow
from optimizer.wording.reader import Reader

IN_A_WORD: dict[BlockedBy, str] = {  # where the cell's word is another
    "stack": "range",
    "unjudged": "not judged beside retaining washers, the sizes of its ball not stated",
}
KEY = (
    "A number is the smallest peak that keeps every limit ({unit}). Words are what keeps it from "
    "{wanted}, alone where nothing keeps every limit: {causes}. Where there are several, each must "
    "be cured."
)
LIMITS = "tilt of a joint, gap to a part around, thread, stud, the linkage itself"
CAUSES = {  # with a band or without one
    False: f"range and step of its stack, {LIMITS}, or the curve's own shape, which no stack cures",
    True: f"{LIMITS}, or, beside a number, the band that its curve leaves",
}
KEY_OF_BOTH = (
    "A number is the larger of both wheels' peaks ({unit}){shared}. A word is what keeps it from "
    "{wanted}: a wheel that can't be met even alone{or_shared}."
)
BY_BAND = (
    "A band is wanted of {of}: peaks count from its middle, and at each height the setting with "
    "the smallest peak is held against the band, no other and not against the tolerance."
)
KEY_OF_CHANCES = (
    "Behind it: in how many of {cars} possible cars, drawn with points and build as accurate as "
    "the case says, some setting of the kit meets the height, as a gauge on that car would find "
    "it. No setting is sure before that."
)
SHARED = ", with the {inner} at the height in brackets, the one that suits both best"
OR_SHARED = ", or the {inner} where no one height of it suits both"


def key(result: ReachResult, reader: Reader) -> str:
    """Explain the cells of the map."""
    words, both = reader.words, reader.subject.both_wheels
    wanted = "the band" if result.has_band else "the tolerance"
    if not both:
        return KEY.format(unit=reader.toe_unit, wanted=wanted, causes=CAUSES[result.has_band])
    shared, or_shared = (
        text.format(inner=words.inner) if words.steers else "" for text in (SHARED, OR_SHARED)
    )
    return KEY_OF_BOTH.format(
        unit=reader.toe_unit, wanted=wanted, shared=shared, or_shared=or_shared
    )


def of_band(result: ReachResult) -> list[str]:
    """Say how a wanted band is looked at."""
    return [BY_BAND.format(of="this car")] if result.has_band else []


def key_of_chances(result: ReachResult) -> list[str]:
    """Explain the share in the cells, where there is one."""
    counted = [row.chances.cars for row in result.heights if row.chances is not None]
    return [KEY_OF_CHANCES.format(cars=max(counted))] if counted else []


def stop_in_a_word(row: ReachRow, reader: Reader) -> str:
    """Say in a cell all that stops a kit; of two wheels, which of them can't be met."""
    if not reader.subject.both_wheels:
        return ", ".join(IN_A_WORD.get(cause, cause) for cause in row.blocked_by)
    unmet = [wheel.side for wheel in row.wheels if not wheel.reachable]
    return ", ".join(unmet) or reader.words.inner


def is_lifted(result: ReachResult) -> bool:
    """Whether all heights that were looked at are of a car that is lifted."""
    heights = {row.lowered_by_mm for row in result.heights}
    return max(heights) <= 0.0 and min(heights) < 0.0


def height_column(result: ReachResult, reader: Reader) -> tuple[str, dict[float, str]]:
    """Title of the ride heights, and each of them: how much lower, of a lifted car higher."""
    way, sign = ("lifted", -1.0) if is_lifted(result) else ("lowered", 1.0)
    heights = dict.fromkeys(row.lowered_by_mm for row in result.heights)
    cells = {height: reader.length(sign * height) for height in heights}
    return f"{way} by\n{reader.subject.units}", cells
