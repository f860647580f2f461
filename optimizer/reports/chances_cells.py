"""Cells of how settings come out in the possible cars, whichever answer tells of them."""

from collections.abc import Callable, Iterator, Sequence

from optimizer.models.setting import Chances
from optimizer.reports.tables import Column
from optimizer.wording.odds import percent
from optimizer.wording.reader import Reader

Rows = Sequence[Chances | None]


def chances_of(
    rows: Rows, judged: Sequence[bool], tolerance_deg: float, reader: Reader
) -> Iterator[Column]:
    """Peaks, and in how many cars all is kept; limits where any is stated for a row (`judged`)."""
    toe = reader.short_toe_unit

    def nine_in_ten(one: Chances) -> str:
        return f"{toe_of(one.peak_05_deg, reader)} to {toe_of(one.peak_95_deg, reader)}"

    median = cells(rows, lambda one: toe_of(one.peak_median_deg, reader))
    yield Column(f"median\n{toe}", median)
    yield Column(f"in 9 of 10\n{toe}", cells(rows, nine_in_ten))
    yield within(rows, tolerance_deg, reader)
    yield limits_kept(rows, judged)
    yield Column("near\nthe best", cells(rows, lambda one: percent(one.near_best_probability)))


def within(rows: Rows, tolerance_deg: float, reader: Reader) -> Column:
    """In how many cars the tolerance is kept, or the wanted band."""
    of_band = any(one is not None and one.of_band for one in rows)
    title = "band\nkept" if of_band else f"within\n{toe_of(tolerance_deg, reader)}"
    return Column(title, cells(rows, lambda one: percent(one.meets_tolerance_probability)))


def limits_kept(rows: Rows, judged: Sequence[bool]) -> Column:
    """In how many cars every limit is kept; unknown too where the case states none."""
    found = cells(rows, lambda one: percent(one.keeps_limits_probability))
    told = [cell if known else "?" for cell, known in zip(found, judged, strict=True)]
    return Column("limits\nkept", told)


def cells(rows: Rows, cell: Callable[[Chances], str]) -> list[str]:
    """A cell a row."""
    return ["?" if one is None else cell(one) for one in rows]


def toe_of(angle_deg: float, reader: Reader) -> str:
    """A peak in a cell."""
    return reader.toe(angle_deg, signed=False)
