"""Tables of a survey, for terminal and page alike."""

from optimizer.models.surveyed import SurveyAnswer
from optimizer.reports.tables import Column
from optimizer.wording.reader import Reader
from optimizer.wording.survey import READING_TITLES, reading_cells

WORDS = 2  # columns of a reading before its numbers


def point_columns(answer: SurveyAnswer, reader: Reader) -> list[Column]:
    """Points with their standard deviations."""
    columns = [Column("point", [point.name for point in answer.points], "left")]
    for axis, name in enumerate("xyz"):
        columns += [
            Column(name, [reader.length(point.at_mm[axis]) for point in answer.points]),
            Column("±", [reader.length(point.sigma_mm[axis]) for point in answer.points]),
        ]
    return columns


def reading_columns(answer: SurveyAnswer, reader: Reader) -> list[Column]:
    """Every reading beside the others."""
    rows = [reading_cells(one, reader) for one in answer.readings]
    cells = [list(column) for column in zip(*rows, strict=True)]
    titled = zip(READING_TITLES, cells, strict=True)
    return [Column(*one, "left" if k < WORDS else "right") for k, one in enumerate(titled)]
