"""A toe curve drawn with characters: travel upward, toe-in to the right, as on a gauge sheet."""

from collections.abc import Sequence

BEFORE, AFTER, BOTH, AXIS, AIM = "o", "x", "*", "|", "."
HALF_WIDTH = 24  # columns to each side of the axis


def sketch(
    labels: Sequence[str],
    before: Sequence[float],
    after: Sequence[float] | None,
    aim: Sequence[float] | None = None,
) -> list[str]:
    """Draw one line a height, highest first.

    Parameters
    ----------
    labels : sequence of str
        Name of each height, lowest first.
    before, after : sequence of float
        Toe change at each height, positive toe-in; any unit.
    aim : sequence of float, optional
        The change that is wanted there, drawn beneath the others; none where it is zero throughout.

    Returns
    -------
    list of str
        Lines of equal length.
    """
    values = [*before, *(after or []), *(aim or [])]
    scale = HALF_WIDTH / max(max(abs(value) for value in values), 1e-12)
    width = max(len(label) for label in labels)
    lines = []
    for k in reversed(range(len(labels))):
        row = [" "] * (2 * HALF_WIDTH + 1)
        row[HALF_WIDTH] = AXIS
        if aim is not None:
            row[HALF_WIDTH + round(aim[k] * scale)] = AIM
        row[HALF_WIDTH + round(before[k] * scale)] = BEFORE
        if after is not None:
            place = HALF_WIDTH + round(after[k] * scale)
            row[place] = BOTH if row[place] == BEFORE else AFTER
        lines.append(f"{labels[k]:>{width}}  {''.join(row)}")
    return lines
