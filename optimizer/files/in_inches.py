"""A commented starter file in inches: its lengths turned over, every comment kept."""

import re

from optimizer.units import MM_PER_INCH

# Keys whose numbers are no lengths: counts, directions, and what says its own unit.
NO_LENGTH = re.compile(
    r"format|count|most_pieces|price|mass_g|numbers?|threads_per_inch|rack_axis|bolt_axis|stud_axis"
    r"|free_side|.*_(deg|n|mpa)|.*_deg_.*"
)
NUMBER = r"-?\d+(?:\.\d+)?"
LIST = rf"\[\s*{NUMBER}(?:\s*,\s*{NUMBER})*\s*\]"
ASSIGNED = re.compile(rf"\b([a-z]\w*)(\s*=\s*)({NUMBER}|{LIST}|\[{LIST}(?:\s*,\s*{LIST})*\])")
ROW = re.compile(rf"(?m)^ +{LIST}(?=,$)")  # of readings
ANGLES = 'kind = "angle"'  # of which no number is a length but travel
# Sizes as they are sold, in parts of an inch; common practice, no source.
SOLD = {"thickness": 32, "step": 32, "min": 16, "max": 16}
SMALL_MM = 10.0


def in_inches(text: str) -> str:
    """Text of a file in millimeters as one in inches, lengths to what a tape is read to."""
    angles = ANGLES in text
    kept = r"noise|play" if angles else r"(?!)"
    turned = ASSIGNED.sub(lambda line: line[0] if re.match(kept, line[1]) else _turned(line), text)
    turned = ROW.sub(lambda row: _row(row[0], first_only=angles), turned)
    return re.sub(r'(?m)^units(\s*)=(\s*)"mm"(\s*)# or "in": then', r'units\1=\2"in"\3#', turned)


def _turned(found: re.Match[str]) -> str:
    key, equals, value = found.groups()
    if NO_LENGTH.fullmatch(key):
        return found[0]
    return f"{key}{equals}{_row(value, key, first_only=key == 'band')}"


def _row(value: str, key: str = "", *, first_only: bool) -> str:
    """Numbers in inches; of rows of a travel and angles the first alone."""
    first = r"(?<=\[)\s*" if first_only else ""
    return re.sub(f"{first}{NUMBER}", lambda number: _inches(key, number[0]), value)


def _inches(key: str, typed: str) -> str:
    """One length in inches, as wide as it was."""
    mm = float(typed)
    if not mm:
        return typed
    if key in SOLD:
        parts = SOLD[key]
        size = (round(mm / MM_PER_INCH * parts) or 1) / parts
        return f"{size:g}" if size % 1.0 else f"{size:.1f}"
    decimals = 3 if 0.0 < abs(mm) < SMALL_MM else 2
    return f"{mm / MM_PER_INCH:.{decimals}f}".rjust(len(typed))
