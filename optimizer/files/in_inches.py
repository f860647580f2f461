"""A commented starter file in inches: its lengths turned over, every comment kept."""

import re

from optimizer.units import MM_PER_INCH

# Keys whose numbers are no lengths: counts, directions, and what says its own unit.
NO_LENGTH = re.compile(
    r"format|count|turns|rack|piece|ball_joint|brackets|most_pieces|price|mass_g|numbers?"
    r"|threads_per_inch|rack_axis|bolt_axis|stud_axis|free_side|.*_(deg|n|mpa)|.*_deg_.*"
)
NUMBER = r"-?\d+(?:\.\d+)?"
LIST = rf"\[\s*{NUMBER}(?:\s*,\s*{NUMBER})*\s*\]"
ASSIGNED = re.compile(rf"\b([a-z]\w*)(\s*=\s*)({NUMBER}|{LIST}|\[{LIST}(?:\s*,\s*{LIST})*\])")
ROW = re.compile(rf"(?m)^ +{LIST}(?=,$)")  # of readings
ANGLES = 'kind = "angle"'  # of which no number is a length but travel
# Sizes as they are sold, in parts of an inch; common practice, no source.
SOLD = {"thickness": 32, "step": 32, "min": 16, "max": 16, "spacers": 16, "fore_aft": 16}
FIRST_ONLY = ("band", "readings")  # keys of rows of a travel and angles
SMALL_MM = 10.0
PLACE_COMMAS = 2  # of a list of x, y and z
UNITS = re.compile(r'(?m)^units(\s*)=(\s*)"mm"(\s*)# or "in": then(.*)$')
DECIMALS = ", in decimals: 7/16 is 0.4375"
# What comments say of lengths.
SAID = {
    "A few millimeters are good enough": "An eighth of an inch is good enough",
    "Points left out have 2 mm.": "Points left out have 0.08.",
}


def in_inches(text: str) -> str:
    """Text of a file in millimeters as one in inches, lengths to what a tape is read to."""
    angles = ANGLES in text
    kept = r"noise|play" if angles else r"(?!)"
    turned = ASSIGNED.sub(lambda line: line[0] if re.match(kept, line[1]) else _turned(line), text)
    turned = ROW.sub(lambda row: _row(row[0], first_only=angles), turned)
    for metric, inches in SAID.items():
        turned = turned.replace(metric, inches)
    turned = "\n".join(map(_comment_in_place, text.split("\n"), turned.split("\n")))
    return UNITS.sub(rf'units\1=\2"in"\3#\4{DECIMALS}', turned)


def _comment_in_place(metric: str, inches: str) -> str:
    """The line in inches with the comment behind its numbers where it was."""
    was, now = (re.match(r"(#?[^#]*\S) +(?=#)", line) for line in (metric, inches))
    if was is None or now is None:
        return inches
    return f"{now[1]:<{was.end() - 1}} {inches[now.end() :]}"


def _turned(found: re.Match[str]) -> str:
    key, equals, value = found.groups()
    if NO_LENGTH.fullmatch(key):
        return found[0]
    return f"{key}{equals}{_row(value, key, first_only=key in FIRST_ONLY)}"


def _row(value: str, key: str = "", *, first_only: bool) -> str:
    """Numbers in inches; of rows of a travel and angles the first alone."""
    first = r"(?<=\[)\s*" if first_only else ""
    coarse = bool(key) and value.count(",") == PLACE_COMMAS
    return re.sub(f"{first}{NUMBER}", lambda number: _inches(key, number[0], coarse), value)


def _inches(key: str, typed: str, coarse: bool) -> str:
    """One length in inches, as wide as it was; a coordinate no finer than a tape reads."""
    mm = float(typed)
    if not mm:
        return typed
    if key in SOLD:
        parts = SOLD[key]
        size = (round(mm / MM_PER_INCH * parts) or 1) / parts
        return f"{size:g}" if size % 1.0 else f"{size:.1f}"
    decimals = 3 if abs(mm) < SMALL_MM and not coarse else 2
    return f"{mm / MM_PER_INCH:.{decimals}f}".rjust(len(typed))
