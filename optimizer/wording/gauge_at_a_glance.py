"""What a gauge's readings call for, in a few lines that stand alone."""

from collections.abc import Sequence

from optimizer.models.answer import Fact
from optimizer.models.gauge import GaugeResult, WheelGauge
from optimizer.models.questions import OtherStack
from optimizer.models.sweeps import SideFinding
from optimizer.wording.gauge_next import figures, what_next
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

OTHER_WHEEL = "What the {other} wheel takes, `gauge` tells from its readings alone."
ASKED = "Questions about the readings that --quiet leaves out: {left}."


def gauge_at_a_glance(result: GaugeResult, reader: Reader) -> list[str]:
    """Say of each wheel what to fit next and what that promises; without points, what was read."""
    told = []
    for wheel in result.wheels:
        lines: list[str] = []
        apart = [] if reader.subject.both_wheels else _parting_sides(wheel)
        if wheel.fitted_points:
            lines += what_next(wheel, reader)
        else:
            lines.append(figures(wheel.measured, reader))
        whose = f"{wheel.side.capitalize()}: " if apart else reader.of_wheel(wheel.side)
        told += [f"{whose}{line}" for line in lines]
        told += [sentence(one, reader) for one in apart]
        if apart:
            told.append(OTHER_WHEEL.format(other=apart[0].other))
    return told


def _parting_sides(wheel: WheelGauge) -> list[SideFinding]:
    """What forbids to fit the other wheel alike, and what its stack may be mistaken for."""
    return [
        one
        for one in wheel.diagnosis
        if isinstance(one, SideFinding) and one.kind in ("differ", "changed-over")
    ]


def asked_in_short(asked: Sequence[Fact], reader: Reader) -> list[str]:
    """Ask whether a stack is as typed, on which all else rests; count the other questions."""
    stacks = [sentence(one, reader) for one in asked if isinstance(one, OtherStack)]
    left = len(asked) - len(stacks)
    return [*stacks, *([ASKED.format(left=left)] if left else [])]
