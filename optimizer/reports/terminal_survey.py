"""The report of `survey`."""

from rich.console import RenderableType
from rich.text import Text

from optimizer.models.surveyed import SurveyAnswer
from optimizer.reports.survey_columns import point_columns, reading_columns
from optimizer.reports.terminal_parts import (
    columns_table,
    heading,
    indented,
    rendered,
    section,
    what_it_is,
)
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.survey import EXPLAINED, FRAME, TITLES, verdict

MORE = "More with --verbose: every reading beside all the others."


def survey_report(
    answer: SurveyAnswer, path: str, *, verbose: bool = False, quiet: bool = False
) -> str:
    """Render where the points are, how sure that is, and what to read again."""
    reader = Reader(answer.subject)
    first, *others = verdict(answer, reader)
    doubts = [f"- {sentence(one, reader)}" for one in answer.doubts]
    parts: list[RenderableType] = [
        Text(answer.subject.name, style="bold"),
        what_it_is(answer.subject, path),
        Text(first, style="bold"),
        *map(Text, others),
        *section(f"{TITLES['doubts']} ({len(doubts)})", doubts),
    ]
    if quiet:
        return rendered(parts)
    title = f"{TITLES['points']}, {answer.subject.units}"
    parts += [heading(title), columns_table(point_columns(answer, reader)), indented(FRAME)]
    if not verbose:
        return rendered([*parts, Text(f"\n{MORE}", style="dim")])
    parts += [heading(TITLES["readings"]), columns_table(reading_columns(answer, reader))]
    return rendered([*parts, indented(EXPLAINED)])
