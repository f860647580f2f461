"""The columns of how options come out in the possible cars: few in the ranking, then all."""

from collections.abc import Iterator

from optimizer.models.setting import Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.reports.chances_cells import cells, chances_of, limits_kept, toe_of, within
from optimizer.reports.tables import Column
from optimizer.wording.reader import Reader


def short_chances(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """In how many of 100 possible cars an option keeps every limit, and the tolerance."""
    rows = [row.chances for row in result.ranked]
    yield limits_kept(rows, _judged(result))
    yield within(rows, result.tolerance_deg, reader)


def ranked_by_column(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """The peak over the possible cars that options are ranked by, if they are."""
    if result.ranked_by is not None:
        by = result.ranked_by.criterion
        found = [row.ranked_peak_deg for row in result.ranked]
        peaks = ["?" if peak is None else toe_of(peak, reader) for peak in found]
        yield Column(f"{by}\n{reader.short_toe_unit}", peaks)


def chances_columns(result: SuggestResult, reader: Reader) -> list[Column]:
    """All that is known of each option, its place first."""
    rows = [row.chances for row in result.ranked]
    mean = cells(rows, lambda one: toe_of(one.peak_mean_deg, reader))
    return [
        Column("\n", [str(row.rank) for row in result.ranked]),
        Column(f"mean\n{reader.short_toe_unit}", mean),
        *chances_of(rows, _judged(result), result.tolerance_deg, reader),
    ]


def _judged(result: SuggestResult) -> list[bool]:
    """Whether any limit is stated for an option, of each."""
    return [any(limit is not None for limit in _limits(row)) for row in result.ranked]


def _limits(row: Ranked) -> Iterator[float | None]:
    """Margins of an option, None where no limit is stated."""
    for wheel in row.wheels:
        yield from (wheel.tilt_margin_deg, wheel.clearance_mm, wheel.thread_engagement_mm)
