"""The measuring sheet as text and as one HTML page that prints on paper."""

from html import escape
from textwrap import fill

from optimizer.models.sheet import Sheet, WheelSheet
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.sheets import build, preparation
from optimizer.wording.stud import stud_and_thread

STROKES = ("Up, from the lowest line to the highest", "And back, from the highest to the lowest")
SIGNED = ("Date ____________", "Measured by ____________", "Tire pressures ____________")
WIDTH = 92  # columns that most printers put on a page
NEXT_PAGE = '<div style="page-break-before: always"></div>\n'
STYLE = """
body { font: 11pt/1.35 serif; margin: 1.5cm; color: #000; background: #fff; }
h1 { font-size: 15pt; margin: 0; } h2 { font-size: 12pt; margin: 1em 0 .3em; }
h3 { font-size: 11pt; margin: .8em 0 .3em; page-break-after: avoid; }
table { border-collapse: collapse; } th, td { border: 1px solid #000; padding: .3em .8em; }
td { text-align: right; min-width: 4.5em; height: 1.5em; } li { margin: .15em 0; }
@media print { body { margin: 0; } table, h2 { page-break-inside: avoid; } }
"""


def sheet_text(sheet: Sheet) -> str:
    """Render the sheet as plain text, one part a wheel."""
    return "\n".join(_part(sheet, wheel, Reader(sheet.subject)) for wheel in sheet.wheels)


def _part(sheet: Sheet, wheel: WheelSheet, reader: Reader) -> str:
    lines = [f"{wheel.side.upper()} WHEEL"] if sheet.subject.both_wheels else []
    lines += [sheet.subject.name, _what_it_is(wheel, reader)]
    lines += [_folded(f"Fitted: {sentence(wheel.fit, reader)}"), "", "Build"]
    lines += [_folded(f"  [ ] {text}", 6) for text in _build(wheel, reader)]
    lines += ["", "Prepare"]
    lines += [_folded(f"  [ ] {text}", 6) for text in preparation(sheet, wheel, reader)]
    lines += ["", _folded(_gauge(sheet, reader))]
    for stroke in STROKES:
        lines += ["", stroke, *_table(sheet, wheel, reader)]
    cautions = [_folded(f"- {sentence(told, reader)}", 2) for told in sheet.cautions]
    return "\n".join([*lines, "", *cautions, "", reader.spelled("   ".join(SIGNED))]) + "\n"


def _table(sheet: Sheet, wheel: WheelSheet, reader: Reader) -> list[str]:
    """Lines of the rows to fill in, as wide as their titles."""
    titles = _titles(sheet, reader)
    widths = [max(len(title), 10) for title in titles]
    return [
        "  ".join(f"{title:>{w}}" for title, w in zip(titles, widths, strict=True)),
        *(
            "  ".join(f"{cell or '_' * w:>{w}}" for cell, w in zip(row, widths, strict=True))
            for row in _rows(sheet, wheel, reader)
        ),
    ]


def _folded(text: str, indent: int = 0) -> str:
    return fill(text, WIDTH, subsequent_indent=" " * indent, break_on_hyphens=False)


def sheet_html(sheet: Sheet) -> str:
    """Render the sheet as a self-contained page: no script, no link, nothing to load.

    Each wheel starts at the top of a sheet of paper.
    """
    reader = Reader(sheet.subject)
    body = NEXT_PAGE.join(_section(sheet, wheel, reader) for wheel in sheet.wheels)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(sheet.subject.name)}</title>"
        f"<style>{STYLE}</style></head><body>\n{body}</body></html>\n"
    )


def _section(sheet: Sheet, wheel: WheelSheet, reader: Reader) -> str:
    name, fit = escape(sheet.subject.name), escape(sentence(wheel.fit, reader))
    build_, prepare = (
        "".join(f"<li>{escape(text)}</li>" for text in texts)
        for texts in (_build(wheel, reader), preparation(sheet, wheel, reader))
    )
    head = "".join(f"<th>{escape(title)}</th>" for title in _titles(sheet, reader))
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>"
        for row in _rows(sheet, wheel, reader)
    )
    tables = "\n".join(
        f"<h3>{stroke}</h3>\n<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
        for stroke in STROKES
    )
    cautions = "".join(f"<li>{escape(sentence(told, reader))}</li>" for told in sheet.cautions)
    signed = reader.spelled(" &nbsp; ".join(SIGNED))
    return (
        f"<h1>{name}</h1>\n<p>{escape(_what_it_is(wheel, reader))}. Fitted: {fit}.</p>\n"
        f"<h2>Build</h2><ol>{build_}</ol>\n<h2>Prepare</h2><ol>{prepare}</ol>\n<h2>Read</h2>\n"
        f"<p>{escape(_gauge(sheet, reader))}</p>\n"
        f"{tables}\n<ul>{cautions}</ul>\n<p>{signed}</p>\n"
    )


def _what_it_is(wheel: WheelSheet, reader: Reader) -> str:
    return f"{reader.subject.layout}, {wheel.side} {reader.words.wheel}"


def _gauge(sheet: Sheet, reader: Reader) -> str:
    return f"Gauge: {sheet.kind}. {sentence(sheet.set_up, reader)}"


def _build(wheel: WheelSheet, reader: Reader) -> list[str]:
    """What to build, and what it asks of the stud and the thread."""
    strength = stud_and_thread(wheel.strength, wheel.stud, wheel.thread, reader)
    return [*build(wheel, reader), *strength]


def _titles(sheet: Sheet, reader: Reader) -> list[str]:
    units, toe = sheet.subject.units, reader.toe_unit
    return [f"travel, {units}", f"expect, {toe}", *sheet.blanks, f"toe, {toe}"]


def _rows(sheet: Sheet, wheel: WheelSheet, reader: Reader) -> list[list[str]]:
    """Cells of each height, bump first, the gauge's own left blank."""
    blanks = [""] * (len(sheet.blanks) + 1)
    return [
        [
            reader.length(row.travel_mm, signed=True),
            reader.toe(row.toe_change_deg),
            *blanks,
        ]
        for row in reversed(wheel.rows)
    ]
