"""The page of `suggest`."""

from collections.abc import Iterator

from msgspec.structs import replace

from optimizer.models.pictures import WheelPictures
from optimizer.models.suggest import SuggestResult, WheelAnswer
from optimizer.reports.chances_columns import chances_columns
from optimizer.reports.pages.custom_drawing import custom_figures
from optimizer.reports.pages.parts import Figure, Page, Section, Source, table_of
from optimizer.reports.pages.stack import stack_figure
from optimizer.reports.pages.toe_curves import STYLES, Curve, toe_figure
from optimizer.reports.pages.views import view_sections
from optimizer.reports.ranking_columns import ranking_columns
from optimizer.reports.readings_columns import readings_columns
from optimizer.reports.side_effect_rows import side_effect_rows
from optimizer.wording.alignment import alignment_in_words
from optimizer.wording.chances import (
    cars_in_words,
    limits_kept,
    ranked_by_in_words,
    sureness_in_words,
)
from optimizer.wording.check import doubted_in_words
from optimizer.wording.custom import custom_in_words
from optimizer.wording.diagnosis import what_it_does
from optimizer.wording.headings import HEADINGS, TOE_CURVES
from optimizer.wording.kits import kits_in_words, shim_in_words
from optimizer.wording.next_readings import next_readings
from optimizer.wording.pages import ASSUMED, curve_name, subject_in_words
from optimizer.wording.ranking import first_in_words, proof_in_words, unbeaten_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.steps import next_steps
from optimizer.wording.stud import strength_in_words


def suggest_page(result: SuggestResult, source: Source) -> Page:
    """Lay out the ranked answer; it must have been asked for with pictures."""
    reader = Reader(result.subject)
    sections = [
        _work(result, reader),
        *_custom(result, reader),
        Section(HEADINGS["curves"], figures=suggest_figures(result)),
        _ranking(result, reader),
        *_chances(result, reader),
        *_what_to_read(result, reader),
        *view_sections([drawn for _, drawn in _drawn(result)], reader),
        *_side_effects(result, reader),
        *_readings(result, reader),
        Section(HEADINGS["cautions"], points=[sentence(one, reader) for one in result.cautions]),
        Section(HEADINGS["now"], texts=list(_now(result, reader))),
        Section(HEADINGS["assumed"], points=[*_sure(result, reader), *ASSUMED]),
    ]
    return Page(
        result.subject.name,
        f"{subject_in_words(reader)}, {reader.stands(result.as_is.lowered_by_mm)}",
        [*_verdict(result, reader), *doubted_in_words(result.doubted, source.paths[0], reader)],
        sections,
        source,
    )


def _what_to_read(result: SuggestResult, reader: Reader) -> Iterator[Section]:
    """What to read first of each wheel, where that was asked for."""
    for wheel in result.what_to_read:
        now, ranked, worth = next_readings(wheel.readings, reader, before=True)
        title = f"{reader.of_wheel(wheel.side)}{HEADINGS['read first']}"
        yield Section(title, texts=[now], points=ranked, below=[worth])


def _verdict(result: SuggestResult, reader: Reader) -> list[str]:
    shown = [] if result.first is None else result.first.wheels
    return [
        sentence(result.verdict, reader),
        *(line for wheel in shown for line in first_in_words(wheel, reader)),
        *_sure(result, reader),
    ]


def _sure(result: SuggestResult, reader: Reader) -> list[str]:
    sure = [sureness_in_words(wheel, result, reader) for wheel in result.wheels]
    return [*sure, *limits_kept(result, reader)]


def _drawn(result: SuggestResult) -> Iterator[tuple[WheelAnswer, WheelPictures]]:
    for wheel in result.wheels:
        if wheel.pictures is not None:
            yield wheel, wheel.pictures


def _work(result: SuggestResult, reader: Reader) -> Section:
    """What to build and where it goes, with the stacks drawn."""
    first = result.first
    if first is None:
        return Section(HEADINGS["build"])
    stacks = (stack_figure(f"stack-{one.side}", one, reader) for one in first.wheels)
    return Section(
        HEADINGS["build"],
        steps=list(next_steps(first, result, reader).values()),
        figures=[figure for figure in stacks if figure is not None],
        below=[*strength_in_words(first, result, reader), *_alignment(result, reader)],
    )


def _custom(result: SuggestResult, reader: Reader) -> Iterator[Section]:
    """The pivot made to measure, where one was asked for."""
    if result.custom is not None:
        yield Section(
            HEADINGS["custom"],
            texts=list(custom_in_words(result.custom, result, reader)),
            figures=custom_figures(result.custom, reader),
        )


def _alignment(result: SuggestResult, reader: Reader) -> list[str]:
    return alignment_in_words(result.wheels, reader)


def suggest_figures(result: SuggestResult) -> list[Figure]:
    """Draw the toe curves of each wheel: now, number 1 and the next ones."""
    return list(_curves(result, Reader(result.subject)))


def _curves(result: SuggestResult, reader: Reader) -> Iterator[Figure]:
    for wheel, drawn in _drawn(result):
        curves = [
            Curve(
                curve_name(one.rank, one.fitted, reader),
                "now" if one.rank is None else STYLES[one.rank - 1],
                drawn.travel_mm,
                one.toe_change_deg,
            )
            for one in drawn.curves
        ]
        yield toe_figure(
            f"toe-{wheel.side}",
            curves,
            reader,
            tolerance_deg=drawn.tolerance_deg,
            tape=drawn.tape,
            caption=f"{reader.of_wheel(wheel.side)}{TOE_CURVES}",
            tried=drawn,
        )


def _ranking(result: SuggestResult, reader: Reader) -> Section:
    table = table_of(ranking_columns(result, reader))
    why = [
        f"{row.rank}: {sentence(reason, reader)}" for row in result.ranked for reason in row.reasons
    ]
    refused = frozenset(k for k, row in enumerate(result.ranked) if not row.fits)
    first = frozenset({0}) - refused
    return Section(
        HEADINGS["ranking"],
        tables=[replace(table, marked=first, crossed=refused)],
        points=why,
        below=[
            *unbeaten_in_words(result),
            *ranked_by_in_words(result, reader),
            *kits_in_words(result.kits, result.currency),
            proof_in_words(result, reader),
            *shim_in_words(result, reader),
        ],
    )


def _chances(result: SuggestResult, reader: Reader) -> Iterator[Section]:
    if below := cars_in_words(result):
        table = table_of(chances_columns(result, reader))
        yield Section(HEADINGS["chances"], tables=[table], below=below)


def _side_effects(result: SuggestResult, reader: Reader) -> Iterator[Section]:
    if result.side_effects_of is None:
        return
    columns, unchanged, meanings = side_effect_rows(result, reader)
    yield Section(
        HEADINGS["side effects"],
        tables=[table_of(columns)],
        below=unchanged,
        folded=meanings,
    )


def _readings(result: SuggestResult, reader: Reader) -> Iterator[Section]:
    if result.first is not None:
        yield Section(HEADINGS["readings"], tables=[table_of(readings_columns(result, reader))])


def _now(result: SuggestResult, reader: Reader) -> Iterator[str]:
    for wheel, now in zip(result.wheels, result.as_is.wheels, strict=True):
        for text in what_it_does(wheel, now, result, reader):
            yield f"{reader.of_wheel(wheel.side)}{text}"
