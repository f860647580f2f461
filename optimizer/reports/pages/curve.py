"""The page of `curve`."""

from collections.abc import Sequence

from optimizer.models.curve import CurveResult, WheelCurve
from optimizer.models.pictures import WheelViews
from optimizer.reports.curve_columns import curve_columns
from optimizer.reports.pages.parts import Figure, Page, Section, Source, table_of
from optimizer.reports.pages.toe_curves import STYLES, Curve, toe_figure
from optimizer.reports.pages.views import view_sections
from optimizer.wording.alignment import alignment_in_words
from optimizer.wording.comparison import comparison_in_words
from optimizer.wording.curves import lengths_in_words, notes_in_words
from optimizer.wording.pages import ASSUMED, HEADINGS, TOE_CURVES, subject_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


def curve_page(
    results: dict[str, CurveResult], views: Sequence[WheelViews], source: Source
) -> Page:
    """Lay out curves laid over each other, by name; `views` are of the first of them."""
    first = next(iter(results.values()))
    reader = Reader(first.subject)
    several = len(results) > 1
    found = first.comparison
    compared = [] if found is None else comparison_in_words(found, reader)
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
                texts=alignment_in_words(
                    [(one.side, one.alignment) for one in first.wheels], reader
                ),
                figures=curve_figures(results),
            ),
            *(
                Section(
                    f"{HEADINGS['companions']}{f': {name}' if several else ''}",
                    tables=[table_of(curve_columns(result, Reader(result.subject)))],
                )
                for name, result in results.items()
            ),
            Section(HEADINGS["compared"], texts=compared),
            *view_sections(views, reader),
            Section(HEADINGS["assumed"], points=list(ASSUMED)),
        ],
        source,
    )


def curve_figures(results: dict[str, CurveResult]) -> list[Figure]:
    """One drawing a wheel of the first result, every result's curve of that wheel in it."""
    first = next(iter(results.values()))
    reader = Reader(first.subject)
    return [
        toe_figure(
            f"toe-{wheel.side}",
            [
                _curve(name, style, one)
                for style, (name, result) in zip(STYLES, results.items(), strict=False)
                for one in result.wheels
                if one.side == wheel.side or len(result.wheels) == 1
            ],
            reader,
            caption=f"{reader.of_wheel(wheel.side)}{TOE_CURVES}",
        )
        for wheel in first.wheels
    ]


def _curve(name: str, style: str, wheel: WheelCurve) -> Curve:
    """Toe change from ride height."""
    home = wheel.toe_deg[wheel.travel_mm.index(0.0)]
    change = [None if x is None or home is None else x - home for x in wheel.toe_deg]
    return Curve(name, style, wheel.travel_mm, change)
