"""What a gauge should show with number 1 fitted, as columns."""

from optimizer.models.suggest import SuggestResult
from optimizer.reports.tables import Column
from optimizer.wording.reader import Reader


def readings_columns(result: SuggestResult, reader: Reader) -> list[Column]:
    """Toe change at each travel, bump first, of each wheel, and of two at both together."""
    heights = [reading.travel_mm for reading in result.wheels[0].expected]
    wheels = [[reading.toe_change_deg for reading in wheel.expected] for wheel in result.wheels]
    if reader.subject.both_wheels:
        total = [sum(toes) for toes in zip(*wheels, strict=True)]
        columns = dict(zip([*reader.subject.sides, "total"], [*wheels, total], strict=True))
    else:
        columns = {"toe change from ride height": wheels[0]}
    travel = [reader.length(x, signed=True) for x in heights[::-1]]
    return [
        Column(f"travel\n{reader.subject.units}", travel),
        *(
            Column(f"{name}\n{reader.toe_unit}", [reader.toe(x) for x in toes[::-1]])
            for name, toes in columns.items()
        ),
    ]
