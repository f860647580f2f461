"""The columns of how options come out in the possible cars: few in the ranking, then all."""

from collections.abc import Callable, Iterator

from optimizer.models.setting import Chances, Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.reports.tables import Column
from optimizer.wording.odds import chance, percent
from optimizer.wording.reader import Reader


def short_chances(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """In how many of 100 possible cars an option keeps every limit, and the tolerance."""
    yield Column("limits\nkept", _limits_kept(result, percent))
    yield Column(f"within\n{_tolerance(result, reader)}", _cells(result, _meets(percent)))


def ranked_by_column(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """The peak over the possible cars that options are ranked by, if they are."""
    if result.ranked_by is not None:
        by = result.ranked_by.criterion
        peaks = _cells(result, lambda one: _toe(one.ranked_by(by), reader))
        yield Column(f"{by}\n{reader.short_toe_unit}", peaks)


def chances_columns(result: SuggestResult, reader: Reader) -> list[Column]:
    """All that is known of each option, its place first."""
    toe = reader.short_toe_unit

    def nine_in_ten(one: Chances) -> str:
        return f"{_toe(one.peak_05_deg, reader)} to {_toe(one.peak_95_deg, reader)}"

    return [
        Column("\n", [str(row.rank) for row in result.ranked]),
        Column(f"mean\n{toe}", _cells(result, lambda one: _toe(one.peak_mean_deg, reader))),
        Column(f"median\n{toe}", _cells(result, lambda one: _toe(one.peak_median_deg, reader))),
        Column(f"in 9 of 10\n{toe}", _cells(result, nine_in_ten)),
        Column(f"within\n{_tolerance(result, reader)}", _cells(result, _meets(chance))),
        Column("limits\nkept", _limits_kept(result, chance)),
        Column("near\nthe best", _cells(result, lambda one: chance(one.near_best_probability))),
    ]


def _meets(said: Callable[[float], str]) -> Callable[[Chances], str]:
    return lambda one: said(one.meets_tolerance_probability)


def _cells(result: SuggestResult, cell: Callable[[Chances], str]) -> list[str]:
    return ["?" if row.chances is None else cell(row.chances) for row in result.ranked]


def _limits_kept(result: SuggestResult, said: Callable[[float], str]) -> list[str]:
    """As `_cells`; unknown too where the case states no limit."""
    cells = _cells(result, lambda one: said(one.keeps_limits_probability))
    return [
        cell if any(limit is not None for limit in _limits(row)) else "?"
        for cell, row in zip(cells, result.ranked, strict=True)
    ]


def _limits(row: Ranked) -> Iterator[float | None]:
    """Margins of an option, None where no limit is stated."""
    for wheel in row.wheels:
        yield from (wheel.tilt_margin_deg, wheel.clearance_mm, wheel.thread_engagement_mm)


def _toe(angle_deg: float, reader: Reader) -> str:
    return reader.toe(angle_deg, signed=False)


def _tolerance(result: SuggestResult, reader: Reader) -> str:
    return _toe(result.tolerance_deg, reader)
