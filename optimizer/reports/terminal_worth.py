"""The report of `gauge` for a car of which only lengths are known."""

from optimizer.models.lengths import WorthResult
from optimizer.reports.terminal_parts import cautions_section, heading, indented, rendered
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


def worth_report(result: WorthResult) -> str:
    """Render what each height is worth."""
    reader = Reader(result.subject)
    return rendered(
        [
            heading(result.subject.name),
            heading("What a shim is worth"),
            *(indented(sentence(one, reader)) for one in result.worth),
            *cautions_section(result.cautions, reader),
        ]
    )
