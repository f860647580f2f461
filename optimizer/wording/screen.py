"""What a screening tells a maker of parts, in words."""

from optimizer.models.screen import KitServed, RangesServed, ScreenSummary, Sizes
from optimizer.units import MM_PER, Units
from optimizer.wording.reach_map import BY_BAND, IN_A_WORD

NAMED = 3  # kinds of limits that a line about a kit names
SIZES = (
    "A place is one wheel at one ride height. Of {places} {possible} ({share}) can be "
    "met by some stack from 20 mm above the standard seat to 60 mm below it, looked at every "
    "0.5 mm, with the rack spacers and the rod end that the car has; the shares below are of "
    "these. A stack that binds a joint or touches something is none that serves."
)
RANGES = "The first serves most, the second most of what it leaves, and so on; shares are summed."


def what_was_screened(summary: ScreenSummary, folder: str) -> str:
    """Say how much there is, and where."""
    size = f"{_many(summary.cars, 'car')} x {_many(len(summary.kits), 'kit')} x " + _many(
        len(summary.served), "ride height"
    )
    return f"{size}: {summary.rows:,} rows in {folder}, as rows.csv and rows.jsonl"


def already_in(cars: int, folder: str) -> str:
    """Say how many cars a run need not screen again."""
    return f"{_many(cars, 'car')} {'is' if cars == 1 else 'are'} in {folder} already."


def left_out(summary: ScreenSummary) -> list[str]:
    """Say how many cars could not be screened."""
    if not summary.refused:
        return []
    return [f"Left out, for the reasons given: {_many(len(summary.refused), 'car')}."]


def of_band(summary: ScreenSummary) -> list[str]:
    """Say how wanted bands are looked at."""
    if not summary.with_band:
        return []
    return [BY_BAND.format(of=_many(summary.with_band, "car"))]


def served_by_height(units: Units) -> str:
    """Head the count of cars by kit and ride height."""
    return f"Cars that meet what is wanted, by kit and ride height ({units} lower than measured)"


def height(lowered_by_mm: float, units: Units) -> str:
    """A ride height in the unit that was asked for, as it is typed."""
    return f"{lowered_by_mm / MM_PER[units]:.6g}"


def what_stops(kit: KitServed, summary: ScreenSummary) -> str:
    """Say what stops a kit most often."""
    most = list(kit.stopped_by.items())[:NAMED]
    if not most:
        return f"{kit.name}: nothing, anywhere."
    told = ", ".join(
        f"{IN_A_WORD.get(cause, cause)} {share(count, summary.cars * len(summary.served))}"
        for cause, count in most
    )
    return f"{kit.name}: {told}."


def sizes_in_words(sizes: Sizes) -> str:
    """Say what the shares of the sizes are of."""
    possible = share(sizes.possible, sizes.places)
    places = _many(sizes.places, "place")
    return SIZES.format(places=places, possible=f"{sizes.possible:,}", share=possible)


def ranges_in_words(ranges: RangesServed, of: int) -> list[str]:
    """Each range of a width with the share that it brings the sum to."""
    return [f"{one.min_mm:g} to {one.max_mm:g}: {share(one.served, of)}" for one in ranges.ranges]


def share(part: int, of: int) -> str:
    """A share in percent; 100 % only where none is missing, 0 % only where there is none."""
    if not of:
        return "-"
    percent = round(100 * part / of)
    if part not in (0, of):
        percent = min(99, max(1, percent))
    return f"{percent} %"


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
