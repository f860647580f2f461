"""The measuring sheet as text and as one HTML page that prints on paper."""

from html import escape
from textwrap import fill

from optimizer.models.sheet import Sheet
from optimizer.models.together import SheetOfBothSides
from optimizer.reports.stud import stud_and_thread
from optimizer.reports.words import toe_reset_in_words
from optimizer.wording.reader import Reader

STROKES = ("Up, from the lowest line to the highest", "And back, from the highest to the lowest")
SIGNED = ("Date ____________", "Measured by ____________", "Tire pressures ____________")
WIDTH = 92  # columns that most printers put on a page
STYLE = """
body { font: 11pt/1.35 serif; margin: 1.5cm; color: #000; background: #fff; }
h1 { font-size: 15pt; margin: 0; } h2 { font-size: 12pt; margin: 1em 0 .3em; }
h3 { font-size: 11pt; margin: .8em 0 .3em; page-break-after: avoid; }
table { border-collapse: collapse; } th, td { border: 1px solid #000; padding: .3em .8em; }
td { text-align: right; min-width: 4.5em; height: 1.5em; } li { margin: .15em 0; }
@media print { body { margin: 0; } table, h2 { page-break-inside: avoid; } }
"""


def sheet_text(sheet: Sheet) -> str:
    """Render the sheet as plain text."""
    reader = Reader(sheet.subject)
    subject = sheet.subject
    lines = [subject.name, f"{subject.layout}, {subject.side} {subject.words.wheel}"]
    lines += [_folded(f"Fitted: {sheet.fit}"), "", "Build"]
    lines += [_folded(f"  [ ] {text}", 6) for text in _build(sheet, reader)]
    lines += ["", "Prepare"]
    lines += [_folded(f"  [ ] {text}", 6) for text in sheet.prepare]
    lines += ["", _folded(f"Gauge: {sheet.kind}. {sheet.set_up}")]
    for stroke in STROKES:
        lines += ["", stroke, *_table(sheet, reader)]
    lines += ["", *(_folded(text) for text in sheet.cautions), "", "   ".join(SIGNED)]
    return "\n".join(lines) + "\n"


def _table(sheet: Sheet, reader: Reader) -> list[str]:
    """Lines of the rows to fill in, as wide as their titles."""
    titles = _titles(sheet, reader)
    widths = [max(len(title), 10) for title in titles]
    return [
        "  ".join(f"{title:>{w}}" for title, w in zip(titles, widths, strict=True)),
        *(
            "  ".join(f"{cell or '_' * w:>{w}}" for cell, w in zip(row, widths, strict=True))
            for row in _rows(sheet, reader)
        ),
    ]


def both_sheets_text(sheets: SheetOfBothSides) -> str:
    """Render the sheets of both wheels as plain text, one after the other."""
    return "\n".join(
        f"{sheet.subject.side.upper()} WHEEL\n{sheet_text(sheet)}"
        for sheet in (sheets, sheets.right)
    )


def _folded(text: str, indent: int = 0) -> str:
    return fill(text, WIDTH, subsequent_indent=" " * indent, break_on_hyphens=False)


def sheet_html(sheet: Sheet) -> str:
    """Render the sheet as a self-contained page: no script, no link, nothing to load."""
    return _page(sheet, _section(sheet))


def both_sheets_html(sheets: SheetOfBothSides) -> str:
    """Render the sheets of both wheels as one such page, each from the top of a sheet of paper."""
    left, right = (_section(sheet) for sheet in (sheets, sheets.right))
    return _page(sheets, f'{left}<div style="page-break-before: always"></div>\n{right}')


def _page(sheet: Sheet, body: str) -> str:
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(sheet.subject.name)}</title>"
        f"<style>{STYLE}</style></head><body>\n{body}</body></html>\n"
    )


def _section(sheet: Sheet) -> str:
    reader = Reader(sheet.subject)
    name, fit = escape(sheet.subject.name), escape(sheet.fit)
    build, prepare = (
        "".join(f"<li>{escape(text)}</li>" for text in texts)
        for texts in (_build(sheet, reader), sheet.prepare)
    )
    head = "".join(f"<th>{escape(title)}</th>" for title in _titles(sheet, reader))
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>"
        for row in _rows(sheet, reader)
    )
    tables = "\n".join(
        f"<h3>{stroke}</h3>\n<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
        for stroke in STROKES
    )
    cautions = "".join(f"<p>{escape(text)}</p>" for text in sheet.cautions)
    return (
        f"<h1>{name}</h1>\n"
        f"<p>{escape(sheet.subject.layout)}, {sheet.subject.side} {sheet.subject.words.wheel}. "
        f"Fitted: {fit}.</p>\n"
        f"<h2>Build</h2><ol>{build}</ol>\n<h2>Prepare</h2><ol>{prepare}</ol>\n<h2>Read</h2>\n"
        f"<p>Gauge: {sheet.kind}. {escape(sheet.set_up)}</p>\n"
        f"{tables}\n{cautions}\n<p>{' &nbsp; '.join(SIGNED)}</p>\n"
    )


def _build(sheet: Sheet, reader: Reader) -> list[str]:
    """What to build, and what it asks of the stud and the thread."""
    return [
        f"{sheet.fit[0].upper()}{sheet.fit[1:]}.",
        toe_reset_in_words(sheet.tie_rod_length_change_mm, reader),
        *stud_and_thread(sheet.strength, sheet.stud, sheet.thread, reader),
    ]


def _titles(sheet: Sheet, reader: Reader) -> list[str]:
    units = sheet.subject.units
    return [f"travel, {units}", f"expect, {reader.toe_unit}", *sheet.blanks, "toe"]


def _rows(sheet: Sheet, reader: Reader) -> list[list[str]]:
    """Cells of each height, bump first, the gauge's own left blank."""
    blanks = [""] * (len(sheet.blanks) + 1)
    return [
        [
            reader.length(row.travel_mm, signed=True),
            reader.toe(row.toe_change_deg),
            *blanks,
        ]
        for row in reversed(sheet.rows)
    ]
