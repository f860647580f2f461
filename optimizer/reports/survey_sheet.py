"""The list of what a survey reads, to take along: as text, and as one HTML page that prints."""

from collections.abc import Iterator, Mapping
from html import escape
from textwrap import fill

from optimizer.models.survey import BASE, ReadingKind, Survey
from optimizer.reports.pages.floor_plan import plan_svg, plan_to_read
from optimizer.reports.sheet import SIGNED, WIDTH
from optimizer.units import MM_PER
from optimizer.wording.survey import (
    SHEET_AGAIN,
    SHEET_COLUMNS,
    SHEET_FLOOR,
    SHEET_STEPS,
    SHEET_TITLES,
    sheet_of,
)

BLANK = "______"
NOT_READ = "-"
STYLE = """
body { font: 11pt/1.35 serif; margin: 1.5cm; color: #000; background: #fff; }
h1 { font-size: 15pt; margin: 0; } h2 { font-size: 12pt; margin: 1em 0 .3em; }
table { border-collapse: collapse; } th, td { border: 1px solid #000; padding: .2em .6em; }
td { text-align: right; min-width: 4.2em; height: 1.5em; } td.name { text-align: left; }
li { margin: .15em 0; } .lists { columns: 2; } figure { margin: 0; }
figure svg { height: 17cm; width: auto; max-width: 100%; }
@media print { body { margin: 0; } tr, h2, figure { break-inside: avoid; } }
"""

Place = tuple[float, float]
Table = tuple[list[str], list[list[str]]]


def survey_sheet_html(survey: Survey, marks: Mapping[str, Place], base: Place) -> str:
    """Render the list as a self-contained page: no script, no link, nothing to load.

    `marks` and `base` are about where the marks will lie. [mm].
    """
    steps = "".join(f"<li>{escape(step)}</li>" for step in SHEET_STEPS)
    plan = plan_svg(plan_to_read(survey, marks, base))
    lists = "".join(
        f"<h2>{escape(title)}</h2>\n{_html(table)}\n" for title, table in _lists(survey)
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(survey.name)}</title><style>{STYLE}</style></head><body>\n"
        f"<h1>{escape(survey.name)}</h1>\n<p>{escape(sheet_of(survey))}</p>\n"
        f"<h2>{SHEET_TITLES['prepare']}</h2><ol>{steps}</ol>\n"
        f"<p>{SHEET_FLOOR}</p>\n"
        f"<h2>{SHEET_TITLES['points']}</h2>\n{_html(_points(survey))}\n<p>{SHEET_AGAIN}</p>\n"
        f'<div class="lists">{lists}</div>\n<figure>{plan}</figure>\n'
        f"<p>{' &nbsp; '.join(SIGNED)}</p></body></html>\n"
    )


def survey_sheet_text(survey: Survey) -> str:
    """Render the list as plain text."""
    lines = [survey.name, sheet_of(survey), "", SHEET_TITLES["prepare"]]
    lines += [fill(f"  [ ] {step}", WIDTH, subsequent_indent=" " * 6) for step in SHEET_STEPS]
    lines += [
        "",
        SHEET_FLOOR,
        "",
        SHEET_TITLES["points"],
        *_text(_points(survey)),
        fill(SHEET_AGAIN, WIDTH),
    ]
    for title, table in _lists(survey):
        lines += ["", title, *_text(table)]
    return "\n".join([*lines, "", "   ".join(SIGNED)]) + "\n"


def _points(survey: Survey) -> Table:
    """What is read once a point: its heights, and its mark to the line and to the base marks."""
    cells: dict[tuple[str, str], str] = {}
    for row in survey.heights:
        for column, value in zip(("height", "again"), _twice(survey, row.values), strict=True):
            cells[row.names[0], column] = value
    for row in survey.center_line:
        cells[row.names[0], "line"] = _cell(survey, row.values)
    for row in survey.marks:
        for one, other in (row.names, row.names[::-1]):
            if other in BASE:
                cells[one, other] = _cell(survey, row.values)
    titles = ["", *SHEET_COLUMNS.values()]
    return titles, [
        [name, *(cells.get((name, column), NOT_READ) for column in SHEET_COLUMNS)]
        for name in survey.point_names
    ]


def _lists(survey: Survey) -> Iterator[tuple[str, Table]]:
    """What is read between two places, a list a kind."""
    for kind, rows in survey.rows.items():
        lines = [
            [" to ".join(row.names), _cell(survey, row.values, kind)]
            for row in rows
            if len(row.names) == 2 and len({*row.names} & {*BASE}) != 1
        ]
        if lines:
            yield SHEET_TITLES[kind], (["", "deg" if kind == "slope" else survey.units], lines)


def _twice(survey: Survey, values: tuple[float, ...]) -> tuple[str, str]:
    return _cell(survey, values[:1]), _cell(survey, values[1:])


def _cell(survey: Survey, values: tuple[float, ...], kind: ReadingKind = "marks") -> str:
    """What was read, as often as it was; empty where it is still to be."""
    per = 1.0 if kind == "slope" else MM_PER[survey.units]
    return ", ".join(f"{value / per:.6g}" for value in values)


def _html(table: Table) -> str:
    titles, rows = table
    head = "".join(f"<th>{escape(title)}</th>" for title in titles)
    body = "".join(
        f'<tr><td class="name">{escape(name)}</td>'
        f"{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>"
        for name, *cells in rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _text(table: Table) -> list[str]:
    """Lines of a table, blanks to write on."""
    titles, rows = table
    filled = [[name, *(cell or BLANK for cell in cells)] for name, *cells in rows]
    widths = [max(map(len, column)) for column in zip(titles, *filled, strict=True)]
    return [
        f"  {cells[0]:<{widths[0]}}  "
        + "  ".join(f"{cell:>{width}}" for cell, width in zip(cells[1:], widths[1:], strict=True))
        for cells in (titles, *filled)
    ]
