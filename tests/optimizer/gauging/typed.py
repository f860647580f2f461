"""Readings files as people type them, in pieces of text."""

import json
from collections.abc import Callable

HEAD = 'format = 1\nunits = "mm"\n'
ANGLE = HEAD + 'kind = "angle"\n'
MINUTES = ANGLE + 'angle_unit = "min"\n'
TWO_DIALS = HEAD + 'kind = "two-dial"\nspacing = 500.0\nreading_grows = "outboard"\n'
KIT_CAR = 'car = { rod_length = 340.0, steering_arm = 120.0, arms = "behind" }\n'


def rows(*lines: tuple[float, ...]) -> str:
    return f"readings = {json.dumps([list(map(float, line)) for line in lines])}\n"


def curve(toe: Callable[[float], float], travel: range = range(-50, 51, 10)) -> str:
    """Rows of travel and toe, as written to a tenth of a minute or a thousandth of a degree."""
    return rows(*((t, round(toe(t), 4)) for t in travel))
