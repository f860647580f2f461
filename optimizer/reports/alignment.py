"""What a wanted alignment moves, in words."""

from optimizer.models.alignment import AlignmentAnswer
from optimizer.wording.reader import Reader

# Common practice, no source.
ROOM = (
    "Afterwards look for room between tire, spring, strut and body over the whole travel and lock, "
    "tighten what was moved as its maker says, and set both sides alike."
)


def alignment_in_words(answer: AlignmentAnswer, reader: Reader) -> list[str]:
    """Say what must be moved, what that gives, and what it alone does to the toe curve."""
    camber, caster = (
        f"from {reader.angle(before)} to {reader.angle(after)} deg"
        for before, after in (
            (answer.camber_before_deg, answer.camber_deg),
            (answer.caster_before_deg, answer.caster_deg),
        )
    )
    what = f"{answer.what_to_move[0].upper()}{answer.what_to_move[1:]}"
    of_caster = f", caster {caster}" if reader.subject.words.steers else ""
    lines = [f"{what}: at ride height, toe reset, camber goes {camber}{of_caster}."]
    toe = answer.toe_curve
    if toe is not None:
        peak = reader.toe(toe.peak_toe_change_before_deg, signed=False)
        slope = reader.slope(toe.toe_slope_before_deg_per_10mm)
        lines.append(
            f"That alone, no stack fitted, takes the peak toe change from {peak} to "
            f"{reader.toe_with_unit(toe.peak_toe_change_deg)} and the slope from {slope} to "
            f"{reader.slope(toe.toe_slope_deg_per_10mm)} {reader.short_toe_unit} per {reader.per}."
        )
    return [*lines, ROOM]
