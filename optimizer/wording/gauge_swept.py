"""What a sweep was taken with: the first thing that a report of readings says."""

from optimizer.models.gauge import SweptWith
from optimizer.units import MM_PER
from optimizer.wording.outer_pivot import outer_height
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.templates import Length

UNSAID = "what was fitted is not said"
MORE = {
    "ball_joint_drop_mm": "lower ball joint {height} down",
    "knuckle_plate_mm": "knuckle plate {height}",
    "crossmember_spacer_mm": "crossmember spacer {height}",
    "rack_tilt_mm": "left end of the rack {height} higher than its right end",
    "frame_bracket_raise_mm": "frame bracket raised by {height}",
    "axle_bracket_raise_mm": "axle bracket raised by {height}",
    "lift_block_mm": "lift block {height}",
    "shackle_longer_mm": "shackle longer by {height}",
}
BELOW_0 = {  # what goes the other way there
    "ball_joint_drop_mm": "lower ball joint {height} up",
    "rack_tilt_mm": "left end of the rack {height} lower than its right end",
    "frame_bracket_raise_mm": "frame bracket lowered by {height}",
    "axle_bracket_raise_mm": "axle bracket lowered by {height}",
    "shackle_longer_mm": "shackle shorter by {height}",
}


@sentence.register
def _swept_with(swept: SweptWith, reader: Reader) -> str:
    side = "" if swept.side is None else f"{swept.side} wheel, "
    low, high = (
        f"{x / MM_PER[swept.units]:+.6g}" if x else "0" for x in (swept.lowest_mm, swept.highest_mm)
    )
    return (
        f'"{swept.sweep}": {side}{swept.rows} rows from {low} to {high} {swept.units}, '
        f"{_fitted(swept, reader)}{_judged(swept)}."
    )


def _judged(swept: SweptWith) -> str:
    """Say at which ride height the sweep is judged, if it is another."""
    if not swept.judged_lower_mm:
        return ""
    way = "lower" if swept.judged_lower_mm > 0.0 else "higher"
    return f"; judged {Length(abs(swept.judged_lower_mm), swept.units)} {way} than swept"


def _fitted(swept: SweptWith, reader: Reader) -> str:
    if swept.outer_drop_mm is None and swept.rack_raise_mm is None:
        return UNSAID
    parts = []
    if swept.outer_drop_mm is not None:
        pieces = f" ({reader.pieces(swept.stack_mm)})" if len(swept.stack_mm) > 1 else ""
        by = f"{Length(abs(swept.outer_drop_mm), swept.units)}{pieces}"
        parts.append(outer_height(swept.outer_drop_mm, by, reader))
    if swept.rack_raise_mm is not None:
        way = "lowered" if swept.rack_raise_mm < 0.0 else "raised"
        height = Length(abs(swept.rack_raise_mm), swept.units)
        parts.append(f"{reader.words.inner} {way} by {height}")
    if swept.rack_fore_aft_mm is not None:
        way = "rearward" if swept.rack_fore_aft_mm < 0.0 else "forward"
        parts.append(
            f"{reader.words.inner} {Length(abs(swept.rack_fore_aft_mm), swept.units)} {way}"
        )
    for key, text in MORE.items():
        if (more := getattr(swept, key)) is None:
            continue
        if more < 0.0 and key in BELOW_0:
            text, more = BELOW_0[key], -more
        parts.append(text.format(height=Length(more, swept.units)))
    return f"swept with {', '.join(parts)} fitted"
