"""The page of `curve`."""

from collections.abc import Sequence
from itertools import cycle

from optimizer.models.curve import CurveResult
from optimizer.models.pictures import WheelViews
from optimizer.reports.curve_columns import (
    by_name,
    change_from_ride_height,
    curve_columns,
    wheel_of,
)
from optimizer.reports.pages.parts import Figure, Page, Section, Source, table_of
from optimizer.reports.pages.toe_curves import STYLES, Curve, toe_figure
from optimizer.reports.pages.views import view_sections
from optimizer.wording.alignment import alignment_in_words
from optimizer.wording.comparison import comparison_in_words
from optimizer.wording.curves import lengths_in_words, notes_in_words
from optimizer.wording.headings import HEADINGS, TOE_CURVES
from optimizer.wording.pages import ASSUMED, subject_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


def curve_page(first: CurveResult, views: Sequence[WheelViews], source: Source) -> Page:
    """Lay out a curve and those laid over it; `views` are of the first of them."""
    reader, results = Reader(first.subject), by_name(first)
    several = len(results) > 1
    return Page(
        first.subject.name,
        subject_in_words(reader),
        [
            sentence(first.setting, reader),
            lengths_in_words(first, reader),
            *notes_in_words(first, reader),
        ],
        [
            Section(
                HEADINGS["curves"],
                texts=alignment_in_words(first.wheels, reader),
                figures=curve_figures(first),
            ),
            *(
                Section(
                    f"{HEADINGS['companions']}{f': {name}' if several else ''}",
                    tables=[table_of(curve_columns(result, Reader(result.subject)))],
                )
                for name, result in results.items()
            ),
            Section(HEADINGS["compared"], texts=comparison_in_words(first.comparison, reader)),
            *view_sections(views, reader),
            Section(HEADINGS["assumed"], points=list(ASSUMED)),
        ],
        source,
    )


def curve_figures(first: CurveResult) -> list[Figure]:
    """One drawing a wheel, the curves laid over it in it too."""
    reader = Reader(first.subject)
    return [
        toe_figure(
            f"toe-{wheel.side}",
            [
                Curve(name, style, one.travel_mm, change_from_ride_height(one))
                for style, (name, result) in zip(
                    cycle(STYLES), by_name(first).items(), strict=False
                )
                for one in wheel_of(result, wheel.side)
            ],
            reader,
            caption=f"{reader.of_wheel(wheel.side)}{TOE_CURVES}",
        )
        for wheel in first.wheels
    ]
