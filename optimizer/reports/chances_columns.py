"""The columns of how options come out in the possible cars: few in the ranking, then all."""

from collections.abc import Callable, Iterator, Sequence

from optimizer.models.how_sure import HowSure
from optimizer.models.setting import Chances, Ranked
from optimizer.models.suggest import SuggestResult
from optimizer.reports.tables import Column
from optimizer.wording.how_sure import known_by, roles_in_words
from optimizer.wording.odds import chance, percent
from optimizer.wording.reader import Reader

Rows = Sequence[Chances | None]


def short_chances(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """In how many of 100 possible cars an option keeps every limit, and the tolerance."""
    rows = [row.chances for row in result.ranked]
    yield Column("limits\nkept", _limits_kept(rows, _judged(result), percent))
    yield Column(f"within\n{_toe(result.tolerance_deg, reader)}", _cells(rows, _meets(percent)))


def ranked_by_column(result: SuggestResult, reader: Reader) -> Iterator[Column]:
    """The peak over the possible cars that options are ranked by, if they are."""
    if result.ranked_by is not None:
        by = result.ranked_by.criterion
        rows = [row.chances for row in result.ranked]
        peaks = _cells(rows, lambda one: _toe(one.ranked_by(by), reader))
        yield Column(f"{by}\n{reader.short_toe_unit}", peaks)


def chances_columns(result: SuggestResult, reader: Reader) -> list[Column]:
    """All that is known of each option, its place first."""
    rows = [row.chances for row in result.ranked]
    mean = _cells(rows, lambda one: _toe(one.peak_mean_deg, reader))
    return [
        Column("\n", [str(row.rank) for row in result.ranked]),
        Column(f"mean\n{reader.short_toe_unit}", mean),
        *_columns(rows, _judged(result), result.tolerance_deg, chance, reader),
    ]


def how_sure_columns(sure: HowSure, tolerance_deg: float, reader: Reader) -> list[Column]:
    """The same of what a gauge compares, by tape alone and after what was read."""
    rows = [one for stage in sure.stages for one in stage.chances]
    count = len(sure.compared)
    known = [cell for stage in sure.stages for cell in [known_by(stage), *[""] * (count - 1)]]
    judged = [True] * len(rows) if sure.limits_stated else [False] * len(rows)
    return [
        Column("known\nfrom", known, "left"),
        Column("fitted\n", [*map(roles_in_words, sure.compared)] * len(sure.stages), "left"),
        *_columns(rows, judged, tolerance_deg, percent, reader),
    ]


def _columns(
    rows: Rows,
    judged: Sequence[bool],
    tolerance_deg: float,
    said: Callable[[float], str],
    reader: Reader,
) -> Iterator[Column]:
    toe = reader.short_toe_unit

    def nine_in_ten(one: Chances) -> str:
        return f"{_toe(one.peak_05_deg, reader)} to {_toe(one.peak_95_deg, reader)}"

    median = _cells(rows, lambda one: _toe(one.peak_median_deg, reader))
    yield Column(f"median\n{toe}", median)
    yield Column(f"in 9 of 10\n{toe}", _cells(rows, nine_in_ten))
    yield Column(f"within\n{_toe(tolerance_deg, reader)}", _cells(rows, _meets(said)))
    yield Column("limits\nkept", _limits_kept(rows, judged, said))
    yield Column("near\nthe best", _cells(rows, lambda one: said(one.near_best_probability)))


def _meets(said: Callable[[float], str]) -> Callable[[Chances], str]:
    return lambda one: said(one.meets_tolerance_probability)


def _cells(rows: Rows, cell: Callable[[Chances], str]) -> list[str]:
    return ["?" if one is None else cell(one) for one in rows]


def _limits_kept(rows: Rows, judged: Sequence[bool], said: Callable[[float], str]) -> list[str]:
    """As `_cells`; unknown too where the case states no limit."""
    cells = _cells(rows, lambda one: said(one.keeps_limits_probability))
    return [cell if known else "?" for cell, known in zip(cells, judged, strict=True)]


def _judged(result: SuggestResult) -> list[bool]:
    """Whether any limit is stated for an option, of each."""
    return [any(limit is not None for limit in _limits(row)) for row in result.ranked]


def _limits(row: Ranked) -> Iterator[float | None]:
    """Margins of an option, None where no limit is stated."""
    for wheel in row.wheels:
        yield from (wheel.tilt_margin_deg, wheel.clearance_mm, wheel.thread_engagement_mm)


def _toe(angle_deg: float, reader: Reader) -> str:
    return reader.toe(angle_deg, signed=False)
