"""What a gauge's readings call for, in a few lines that stand alone."""

from collections.abc import Sequence

from optimizer.models.answer import Fact
from optimizer.models.gauge import GaugeResult
from optimizer.models.questions import OtherStack
from optimizer.wording.gauge_next import GUESS, NOTHING_FITS, figures, promise
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

ASKED = "Questions about the readings that --quiet leaves out: {left}."


def gauge_at_a_glance(result: GaugeResult, reader: Reader) -> list[str]:
    """Say of each wheel what to fit next and what that promises; without points, what was read."""
    told = []
    for wheel in result.wheels:
        lines: list[str] = []
        if wheel.fitted_points:
            lines += [GUESS] if wheel.contradictory else []
            lines += [NOTHING_FITS] if wheel.next is None else promise(wheel.next, reader)
        else:
            lines.append(figures(wheel.measured, reader))
        told += [f"{reader.of_wheel(wheel.side)}{line}" for line in lines]
    return told


def asked_in_short(asked: Sequence[Fact], reader: Reader) -> list[str]:
    """Ask whether a stack is as typed, on which all else rests; count the other questions."""
    stacks = [sentence(one, reader) for one in asked if isinstance(one, OtherStack)]
    left = len(asked) - len(stacks)
    return [*stacks, *([ASKED.format(left=left)] if left else [])]
