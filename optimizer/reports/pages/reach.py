"""The page of `reach`: which ride heights can be met, by which kit."""

from collections import Counter

from msgspec.structs import replace

from optimizer.models.reach import ReachResult
from optimizer.reports.pages.parts import Page, Section, Source, Table, table_of
from optimizer.reports.reach_cells import angles_by_height, reached_in_a_cell
from optimizer.reports.tables import Column
from optimizer.wording.check import doubted_in_words
from optimizer.wording.headings import HEADINGS
from optimizer.wording.pages import subject_in_words
from optimizer.wording.reach import (
    alignments,
    how_far,
    how_far_in_words,
    in_numbers,
)
from optimizer.wording.reach_map import height_column, key, key_of_chances, of_band
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

MOST_IN_VERDICT = 6


def reach_page(result: ReachResult, source: Source) -> Page:
    """Lay out the map, and how low each kit goes in words; what meets most heights leads."""
    reader = Reader(result.subject)
    met = Counter(row.kit for row in result.heights if row.reachable)
    lows = [
        text
        for kit in sorted(result.kits, key=lambda kit: -met[kit.name])
        for text in how_far(kit, kit.name, result, reader)
    ]
    told = [
        f"{kit.name}: {text}" for kit in result.kits for text in in_numbers(kit, result, reader)
    ]
    return Page(
        result.subject.name,
        subject_in_words(reader),
        [*lows[:MOST_IN_VERDICT], *doubted_in_words(result.doubted, source.paths[0], reader)],
        [
            Section(
                HEADINGS["map"],
                texts=of_band(result),
                tables=[_map(result, reader)],
                below=[key(result, reader), *key_of_chances(result), *alignments(result, reader)],
            ),
            Section(
                how_far_in_words(result),
                points=[*(lows if len(lows) > MOST_IN_VERDICT else []), *told],
            ),
            Section(HEADINGS["cautions"], points=[sentence(x, reader) for x in result.cautions]),
        ],
        source,
    )


def _map(result: ReachResult, reader: Reader) -> Table:
    lowered, heights = height_column(result, reader)
    cells = {(row.lowered_by_mm, row.kit): row for row in result.heights}
    columns = [
        Column(lowered, list(heights.values())),
        *(Column(f"{name}\ndeg", angles) for name, angles in angles_by_height(result).items()),
        *(
            Column(
                f"{kit.name}\n{reader.short_toe_unit}",
                [reached_in_a_cell(cells[height, kit.name], result, reader) for height in heights],
            )
            for kit in result.kits
        ),
    ]
    met = frozenset(
        (k, len(columns) - len(result.kits) + j)
        for k, height in enumerate(heights)
        for j, kit in enumerate(result.kits)
        if cells[height, kit.name].reachable
    )
    return replace(table_of(columns), met=met)
