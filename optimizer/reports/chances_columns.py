"""The columns of how options come out in the possible cars: few in the ranking, then all."""

from collections.abc import Callable, Iterator, Sequence

from optimizer.models.setting import Chances, Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.reports.tables import Column
from optimizer.wording.odds import chance, percent
from optimizer.wording.reader import Reader

Rows = Sequence[Chances | None]
Said = Callable[[float], str]


def chances_of(
    rows: Rows, judged: Sequence[bool], tolerance_deg: float, said: Said, reader: Reader
) -> Iterator[Column]:
    """Peaks, and in how many cars all is kept; limits where any is stated for a row (`judged`)."""
    toe = reader.short_toe_unit

    def nine_in_ten(one: Chances) -> str:
        return f"{toe_of(one.peak_05_deg, reader)} to {toe_of(one.peak_95_deg, reader)}"

    median = cells(rows, lambda one: toe_of(one.peak_median_deg, reader))
    yield Column(f"median\n{toe}", median)
    yield Column(f"in 9 of 10\n{toe}", cells(rows, nine_in_ten))
    yield within(rows, tolerance_deg, said, reader)
    yield limits_kept(rows, judged, said)
    yield Column("near\nthe best", cells(rows, lambda one: said(one.near_best_probability)))


def within(rows: Rows, tolerance_deg: float, said: Said, reader: Reader) -> Column:
    """In how many cars the tolerance is kept."""
    title = f"within\n{toe_of(tolerance_deg, reader)}"
    return Column(title, cells(rows, lambda one: said(one.meets_tolerance_probability)))


def limits_kept(rows: Rows, judged: Sequence[bool], said: Said) -> Column:
    """In how many cars every limit is kept; unknown too where the case states none."""
    found = cells(rows, lambda one: said(one.keeps_limits_probability))
    told = [cell if known else "?" for cell, known in zip(found, judged, strict=True)]
    return Column("limits\nkept", told)


def cells(rows: Rows, cell: Callable[[Chances], str]) -> list[str]:
    """A cell a row."""
    return ["?" if one is None else cell(one) for one in rows]


def toe_of(angle_deg: float, reader: Reader) -> str:
    """A peak in a cell."""
    return reader.toe(angle_deg, signed=False)


def short_chances(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """In how many of 100 possible cars an option keeps every limit, and the tolerance."""
    rows = [row.chances for row in result.ranked]
    yield limits_kept(rows, _judged(result), percent)
    yield within(rows, result.tolerance_deg, percent, reader)


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
        *chances_of(rows, _judged(result), result.tolerance_deg, chance, reader),
    ]


def _judged(result: SuggestResult) -> list[bool]:
    """Whether any limit is stated for an option, of each."""
    return [any(limit is not None for limit in _limits(row)) for row in result.ranked]


def _limits(row: Ranked) -> Iterator[float | None]:
    """Margins of an option, None where no limit is stated."""
    for wheel in row.wheels:
        yield from (wheel.tilt_margin_deg, wheel.clearance_mm, wheel.thread_engagement_mm)
