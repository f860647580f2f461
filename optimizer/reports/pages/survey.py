"""The page of `survey`."""

from optimizer.models.surveyed import SurveyAnswer
from optimizer.reports.pages.floor_plan import floor_plan
from optimizer.reports.pages.parts import Page, Section, Source, table_of
from optimizer.reports.survey_columns import point_columns, reading_columns
from optimizer.wording.pages import subject_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.survey import EXPLAINED, FRAME, TITLES, verdict


def survey_page(answer: SurveyAnswer, source: Source) -> Page:
    """Lay out where the points are, how sure that is, and what to read again."""
    reader = Reader(answer.subject)
    return Page(
        answer.subject.name,
        subject_in_words(reader),
        verdict(answer, reader),
        [
            Section(TITLES["doubts"], points=[sentence(one, reader) for one in answer.doubts]),
            Section(
                f"{TITLES['points']}, {answer.subject.units}",
                tables=[table_of(point_columns(answer, reader))],
                below=[FRAME],
            ),
            Section(TITLES["plan"], figures=[floor_plan(answer)]),
            Section(
                TITLES["readings"],
                tables=[table_of(reading_columns(answer, reader))],
                below=[EXPLAINED],
            ),
        ],
        source,
    )
