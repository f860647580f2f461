"""Which way a stack takes the outer pivot: down, up where the stud points up, or along it."""

from optimizer.models.subject import StudWay
from optimizer.wording.reader import Reader

WAYS: dict[StudWay, tuple[str, str]] = {  # of a stack below 0, and of one above
    "down": ("raise", "drop"),
    "up": ("drop", "raise"),
    "level": ("back along its stud", "along its stud"),
}
CHANGES: dict[StudWay, tuple[str, str]] = {  # what another stack does to the pivot
    "down": ("higher", "lower"),
    "up": ("lower", "higher"),
    "level": ("back along its stud", "farther along its stud"),
}


def outer_moved(drop_mm: float, by: str, reader: Reader) -> str:
    """Order a stack: "drop outer 5.0 mm"."""
    way, level = _way(drop_mm, reader), reader.subject.stud == "level"
    return f"move outer {by} {way}" if level else f"{way} outer {by}"


def outer_height(drop_mm: float, by: str, reader: Reader) -> str:
    """Name a stack: "drop 5.0 mm"."""
    way, level = _way(drop_mm, reader), reader.subject.stud == "level"
    return f"{by} {way}" if level else f"{way} {by}"


def hangs_below(drop_mm: float, reader: Reader) -> bool:
    """Whether a stack stands below its arm; of a stud that lies level, as if it pointed down."""
    return (drop_mm > 0.0) == (reader.subject.stud != "up")


def outer_title(reader: Reader) -> str:
    """What a column of stacks counts, in one word."""
    return "move" if reader.subject.stud == "level" else WAYS[reader.subject.stud][1]


def _way(drop_mm: float, reader: Reader) -> str:
    return WAYS[reader.subject.stud][drop_mm >= 0.0]


def height_moved(up_mm: float, reader: Reader, still: str = "raise") -> str:
    """Say how far a part goes and which way; of one that stays, 0 of the usual way."""
    way = {True: "raise", False: "drop"}[up_mm > 0.0] if up_mm else still
    return f"{way} {reader.fitted(abs(up_mm))}"
