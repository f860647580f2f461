"""What stands on the drawing of a pivot made to measure: views, titles and notes."""

from msgspec import Struct

from optimizer.models.comparison import Axis
from optimizer.models.custom_pivot import CustomPivot, PivotName
from optimizer.models.suggest import SuggestResult
from optimizer.units import Side
from optimizer.wording.custom import JUDGEMENT, custom_in_words
from optimizer.wording.reader import Reader

TABLE_TITLES = (
    "axis",
    "must sit at, {units}",
    "from standard place, {units}",
    "within, alone",
    "within, all at once",
)


class DrawnView(Struct, frozen=True):
    """A view: which axis runs across, which up, whether to its plus, and what that is called."""

    name: str
    across: tuple[Axis, float]
    up: tuple[Axis, float]
    across_title: str
    up_title: str


VIEWS = (
    DrawnView(
        "from ahead", ("y", 1.0), ("z", 1.0), "y \u2192 to the left of the car", "z \u2192 up"
    ),
    DrawnView(
        "from above", ("y", 1.0), ("x", -1.0), "y \u2192 to the left of the car", "x \u2190 forward"
    ),
    DrawnView("from the car's left", ("x", -1.0), ("z", 1.0), "x \u2190 forward", "z \u2192 up"),
)


def pivot_caption(side: Side, name: PivotName, reader: Reader) -> str:
    """Name the pivot that a drawing is of."""
    wheel = f"{side.capitalize()} {reader.words.wheel}"
    return (
        f"{wheel}, {name} pivot of the {reader.words.rod}: {reader.spelled('center')} of the ball"
    )


def alt_of_pivot(side: Side, name: PivotName, reader: Reader) -> str:
    """Say what the drawing shows."""
    return (
        f"{pivot_caption(side, name, reader)}, from ahead, from above and from the left: the "
        "standard place, the room around it, and where the pivot must sit."
    )


def drawing_title(result: SuggestResult) -> str:
    """Head the sheet."""
    return f"{result.subject.name}: pivot made to measure"


def drawing_notes(pivot: CustomPivot, result: SuggestResult, reader: Reader) -> list[str]:
    """Say what the numbers count from, what they keep, and what nobody has judged."""
    tolerance = reader.toe_with_unit(result.tolerance_deg)
    axes, *_ = custom_in_words(pivot, result, reader)
    peak = f"Peak toe change {reader.toe_with_unit(pivot.peak_toe_change_deg)}"
    if pivot.peak_toe_change_deg <= result.tolerance_deg:
        peak += (
            f"; off by what the table allows it stays within {tolerance}, {reader.words.is_reset}."
        )
    else:
        peak += f", more than the wanted {tolerance}: no tolerance of the pivot keeps that."
    return [
        f"Axes: {axes}",
        "Cross: standard place; dashed: room for the pivot; circle: the pivot.",
        peak,
        JUDGEMENT,
    ]
