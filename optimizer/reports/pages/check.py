"""The page of `check`."""

from collections.abc import Sequence

from optimizer.models.check import CheckResult
from optimizer.models.pictures import WheelViews
from optimizer.reports.pages.parts import Page, Section, Source, table_of
from optimizer.reports.pages.views import view_sections
from optimizer.reports.tables import Column
from optimizer.wording.alignment import alignment_in_words
from optimizer.wording.check import doubts_in_words, figures_in_words, no_doubt
from optimizer.wording.comparison import comparison_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.pages import ASSUMED, doubts_counted, subject_in_words
from optimizer.wording.reader import Reader


def check_page(result: CheckResult, views: Sequence[WheelViews], source: Source) -> Page:
    """Lay out what a case says and every doubt about it."""
    reader = Reader(result.subject)
    doubts = doubts_in_words(result, reader)
    of_each = [figures_in_words(wheel.figures, reader) for wheel in result.wheels]
    columns = [
        Column("", list(of_each[0]), "left"),
        *(
            Column(wheel.side, list(figures.values()), "left")
            for wheel, figures in zip(result.wheels, of_each, strict=True)
        ),
    ]
    return Page(
        result.subject.name,
        subject_in_words(reader),
        [doubts_counted(len(doubts)) if doubts else no_doubt(reader)],
        [
            Section(HEADINGS["doubts"], points=doubts),
            Section(
                HEADINGS["case"],
                tables=[table_of(columns)],
                below=alignment_in_words(result.wheels, reader),
            ),
            Section(HEADINGS["compared"], texts=comparison_in_words(result.comparison, reader)),
            *view_sections(views, reader),
            Section(HEADINGS["assumed"], points=list(ASSUMED)),
        ],
        source,
    )
