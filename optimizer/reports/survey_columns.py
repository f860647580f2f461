"""Tables of a survey, for terminal and page alike."""

from optimizer.models.surveyed import SurveyAnswer, SurveyedReading
from optimizer.reports.tables import Column
from optimizer.wording.reader import Reader

READING_TITLES = ["row", "", "read", "left over", "checked", "w", "found from"]
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
    rows = [_reading_cells(one, reader) for one in answer.readings]
    cells = [list(column) for column in zip(*rows, strict=True)]
    titled = zip(READING_TITLES, cells, strict=True)
    return [Column(*one, "left" if k < WORDS else "right") for k, one in enumerate(titled)]


def _reading_cells(one: SurveyedReading, reader: Reader) -> list[str]:
    """Cells of a reading's line, under `READING_TITLES`."""
    found, slope = one.least_found, one.kind == "slope"
    per = 1.0 if slope else reader.in_units(1.0)
    decimals = 2 if slope or reader.subject.units == "in" else 1
    return [
        f"{one.location}{' *' if one.doubted else ''}",
        " to ".join(one.names),
        f"{one.read * per:.{decimals}f}",
        f"{one.left_over * per:+.{decimals}f}",
        f"{100.0 * one.redundancy:.0f} %",
        f"{one.normalized:+.1f}",
        "never" if found is None else f"{found * per:.{decimals}f}",
    ]
