"""What holds a custom pivot where it is, and what it may break, as names for a list."""

from optimizer.models.custom_pivot import HeldByLimit, HeldByRoom, MayBreak
from optimizer.units import length_text
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


@sentence.register
def _held_by_limit(held: HeldByLimit, reader: Reader) -> str:
    return f"tilt of the {held.name}" if held.kind == "tilt" else held.name


@sentence.register
def _held_by_room(held: HeldByRoom, reader: Reader) -> str:
    length = length_text(held.move_mm, reader.subject.units)
    return f"room of the {held.pivot} pivot along {held.axis} ({length})"


@sentence.register
def _may_break(broken: MayBreak, reader: Reader) -> str:
    return broken.name
