"""What was probably meant on a line that is not TOML: the next thing to try, in brackets."""

import re

from optimizer.units import FRACTION, in_decimals

REPEATED = r"cannot declare \('(?P<key>[\w-]+)',\) twice"


def slip_hint(line: str, complaint: str) -> str:
    """What to try, from the line and what its reader complained of; empty where nothing is seen."""
    if twice := re.match(REPEATED, complaint, re.IGNORECASE):
        return f"\n(the header [{twice['key']}] stands twice: put its keys under one)"
    typed = re.sub(r'"[^"]*("|$)', '""', line).partition("#")[0]
    value = (typed.partition("=")[2] or typed).strip()
    if (found := FRACTION.search(typed)) and (decimals := in_decimals(found[0])):
        return f"\n(a fraction is written in decimals: {found[0]} as {decimals})"
    for slip, hint in SLIPS:
        if found := slip.search(typed if slip in WHOLE_LINE else value):
            return f"\n({hint.format(found[0].strip())})"
    return ""


CURLY = re.compile(r"[\u2018\u2019\u201c-\u201e]")  # quotes as a word processor makes them
WHOLE_LINE = (CURLY,)
SLIPS = (
    (CURLY, 'quotes must be the straight ones, "'),
    (re.compile(r"(?<![\w.])\.\d+"), "a number begins with a digit: {0} as 0{0}"),
    (re.compile(r"\d,0\d+"), "decimals take a point, not a comma"),
    (re.compile(r"^\d+,\d+$"), "decimals take a point, not a comma"),
    (re.compile(r"^\("), "a point stands in square brackets: [x, y, z]"),
    (
        re.compile(r"""\d\s*(?:"|mm|inch|in\b|deg)"""),
        "numbers stand without a unit; units = says it once for the file",
    ),
    (
        re.compile(r"^(?!true|false|inf|nan)[a-z][\w-]*$", re.IGNORECASE),
        'text stands in quotes: "{0}"',
    ),
)
