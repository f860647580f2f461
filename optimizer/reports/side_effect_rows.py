"""What a setting changes beside the toe curve, as columns; and what is said below them."""

from optimizer.models.suggest import SuggestResult
from optimizer.reports.tables import Column
from optimizer.wording.reader import Reader
from optimizer.wording.side_effects import (
    definitions,
    figures,
    unchanged_in_words,
    units_in_words,
)


def side_effect_rows(
    result: SuggestResult, reader: Reader
) -> tuple[list[Column], list[str], list[str]]:
    """Columns of what changes, one row a figure, what is unchanged, and what they mean."""
    wheels = [wheel.side_effects for wheel in result.wheels]
    rows = list(zip(*(figures(wheel, reader) for wheel in wheels), strict=True))
    same = [row for row in rows if all(one.now == one.then and not one.gradient for one in row)]
    changed = [row for row in rows if row not in same]
    columns = [Column("", [row[0].what for row in changed], "left")]
    for k, wheel in enumerate(result.wheels):
        side = f"{wheel.side}\n" if reader.subject.both_wheels else ""
        columns.append(Column(f"{side}now", [row[k].now for row in changed]))
        columns.append(
            Column(f"{side}number {result.side_effects_of}", [row[k].then for row in changed])
        )
    columns.append(Column("", [units_in_words(row) for row in changed], "left"))
    return columns, unchanged_in_words(same), list(definitions(wheels[0], reader))
