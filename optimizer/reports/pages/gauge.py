"""The page of `gauge`."""

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from optimizer.models.gauge import GaugeResult, WheelGauge
from optimizer.models.pictures import WheelViews
from optimizer.reports.gauge_columns import (
    converted_columns,
    converted_sweeps,
    expected_columns,
    rows_kept,
)
from optimizer.reports.how_sure_columns import how_sure_columns
from optimizer.reports.pages.parts import Figure, Page, Section, Source, table_of
from optimizer.reports.pages.stack import stack_figure
from optimizer.reports.pages.toe_curves import Curve, toe_figure
from optimizer.reports.pages.views import view_sections
from optimizer.units import Side
from optimizer.wording.alignment import alignment_in_words
from optimizer.wording.gauge_at_a_glance import gauge_at_a_glance
from optimizer.wording.gauge_next import AFTER_THAT, converted_in_words, moves
from optimizer.wording.headings import HEADINGS, TOE_CURVES
from optimizer.wording.how_sure import HEADING, how_sure_in_words
from optimizer.wording.next_readings import next_readings
from optimizer.wording.pages import ASSUMED, READ, READ_BAND, subject_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


def gauge_page(result: GaugeResult, views: Sequence[WheelViews], source: Source) -> Page:
    """Lay out what readings say, and what to fit next; `views` are of that."""
    reader, wheels = Reader(result.subject), result.wheels
    stacks = [
        stack_figure(f"stack-{wheel.side}", wheel.next, reader)
        for wheel in wheels
        if wheel.next is not None
    ]
    return Page(
        result.subject.name,
        subject_in_words(reader),
        gauge_at_a_glance(result, reader),
        [
            Section(
                HEADINGS["build"],
                texts=alignment_in_words(result.wheels, reader),
                figures=[figure for figure in stacks if figure is not None],
            ),
            Section(HEADINGS["curves"], figures=gauge_figures(result, views)),
            Section(
                HEADINGS["read"],
                texts=[sentence(one, reader) for one in result.swept],
                points=list(_diagnosis(result, reader)),
            ),
            *_rows(result, reader),
            Section(HEADINGS["questions"], points=[sentence(one, reader) for one in result.asked]),
            *_expected(result, reader),
            *_how_sure(result, reader),
            *_read_next(result, reader),
            *view_sections(views, reader),
            Section(HEADINGS["moved"], texts=list(_moves(result, reader))),
            Section(HEADINGS["cautions"], points=[sentence(x, reader) for x in result.cautions]),
            Section(HEADINGS["assumed"], points=list(ASSUMED)),
        ],
        source,
    )


def gauge_figures(result: GaugeResult, views: Sequence[WheelViews] = ()) -> list[Figure]:
    """Draw the toe curve of each wheel: as read, and as expected next."""
    return list(_curves(result, {one.side: one for one in views}, Reader(result.subject)))


def _curves(result: GaugeResult, views: dict[Side, WheelViews], reader: Reader) -> Iterator[Figure]:
    for wheel in result.wheels:
        view = views.get(wheel.side)
        yield toe_figure(
            f"toe-{wheel.side}",
            list(_of_wheel(wheel, view)),
            reader,
            tape=None if view is None else view.tape,
            band_name=READ_BAND,
            caption=f"{reader.of_wheel(wheel.side)}{TOE_CURVES}",
        )


def _of_wheel(wheel: WheelGauge, view: WheelViews | None) -> Iterator[Curve]:
    rows = rows_kept(wheel.measured)
    home = rows[min(rows, key=abs)]
    yield Curve(READ["read"], "now", list(rows), [toe - home for toe in rows.values()])
    if view is not None and view.toe is not None:
        yield Curve(READ["next"], "first", view.toe.travel_mm, view.toe.toe_change_deg)
    elif wheel.expected:
        rising = sorted(wheel.expected, key=lambda row: row.travel_mm)
        heights, toes = ([x.travel_mm for x in rising], [x.toe_change_deg for x in rising])
        yield Curve(READ["next"], "first", heights, toes)


def _diagnosis(result: GaugeResult, reader: Reader) -> Iterator[str]:
    for wheel in result.wheels:
        for one in wheel.diagnosis:
            yield f"{reader.of_wheel(wheel.side)}{sentence(one, reader)}"


def _rows(result: GaugeResult, reader: Reader) -> Iterator[Section]:
    for wheel in result.wheels:
        yield Section(
            f"{reader.of_wheel(wheel.side)}{HEADINGS['rows']}",
            tables=[
                replace(
                    table_of(converted_columns(sweep, rows, reader)),
                    caption=converted_in_words(sweep, rows, reader),
                )
                for sweep, rows in converted_sweeps(result, wheel)
            ],
        )


def _expected(result: GaugeResult, reader: Reader) -> Iterator[Section]:
    for wheel in result.wheels:
        if wheel.expected:
            title = f"{reader.of_wheel(wheel.side)}{HEADINGS['readings']}"
            texts = [] if wheel.fitted_points else [AFTER_THAT]
            yield Section(title, texts=texts, tables=[table_of(expected_columns(wheel, reader))])


def _how_sure(result: GaugeResult, reader: Reader) -> Iterator[Section]:
    for wheel in result.wheels:
        if wheel.next is not None and wheel.how_sure is not None and not wheel.contradictory:
            yield Section(
                f"{reader.of_wheel(wheel.side)}{HEADING}",
                tables=[
                    table_of(how_sure_columns(wheel.how_sure, wheel.next.tolerance_deg, reader))
                ],
                below=how_sure_in_words(wheel.how_sure, reader),
            )


def _read_next(result: GaugeResult, reader: Reader) -> Iterator[Section]:
    for wheel in result.wheels:
        if wheel.next_readings is not None:
            now, ranked, worth = next_readings(wheel.next_readings, reader)
            title = f"{reader.of_wheel(wheel.side)}{HEADINGS['read next']}"
            yield Section(title, texts=[now], points=ranked, below=[worth])


def _moves(result: GaugeResult, reader: Reader) -> Iterator[str]:
    for wheel in result.wheels:
        if wheel.fitted_points:
            for text in moves(wheel.moved, reader):
                yield f"{reader.of_wheel(wheel.side)}{text}"
