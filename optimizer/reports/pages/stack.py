"""The stack at the outer pivot, piece by piece, to scale along the stud."""

from msgspec import Struct

from optimizer.models.setting import Fitted
from optimizer.reports.pages.parts import Figure, Table
from optimizer.units import MM_PER
from optimizer.wording.outer_pivot import hangs_below
from optimizer.wording.pages import alt_of_stack, stack_caption
from optimizer.wording.reader import Reader

WIDTH = 360.0
MOST_HIGH = 200.0  # of the pieces
ARM, JOINT, LINE = 34.0, 26.0, 15.0
MOST_RATE = 5.0  # units of the drawing per mm
TOP = 12.0


class Piece(Struct, frozen=True):
    """A piece as drawn, and where its name stands."""

    y: float
    height: float
    label_y: float
    name: str


class StackDrawing(Struct, frozen=True):
    """Arm, pieces and joint along the stud, from the top of the drawing down."""

    pieces: list[Piece]
    arm_y: float
    joint_y: float
    seat_y: float
    drop_name: str
    width: float
    height: float
    arm: float = ARM
    joint: float = JOINT


def stack_figure(name: str, fitted: Fitted, reader: Reader) -> Figure | None:
    """Draw the stack of one wheel; None where there is none."""
    if not fitted.outer_drop_mm:
        return None
    sizes = fitted.stack_mm or [abs(fitted.outer_drop_mm)]
    names = [reader.fitted(size) for size in sizes]
    below = hangs_below(fitted.outer_drop_mm, reader)
    rate = min(MOST_RATE, MOST_HIGH / sum(sizes))
    spread = max(sum(sizes) * rate, LINE * len(sizes))
    start = TOP + ARM if below else TOP + JOINT
    pieces, y, label = [], start, start - LINE
    for size, told in zip(sizes, names, strict=True):
        high = size * rate
        label = max(y + 0.5 * high, label + LINE)
        pieces.append(Piece(round(y, 1), round(high, 1), round(label, 1), told))
        y += high
    drawing = StackDrawing(
        pieces=pieces,
        arm_y=TOP if below else round(y, 1),
        joint_y=round(y, 1) if below else TOP,
        seat_y=start if below else round(y, 1),
        drop_name=reader.fitted(abs(fitted.outer_drop_mm)),
        width=WIDTH,
        height=round(TOP * 2 + ARM + JOINT + spread, 1),
    )
    return Figure(
        "stack.svg",
        name,
        stack_caption(fitted, reader),
        alt_of_stack(fitted, reader),
        drawing,
        Table(
            titles=["piece, from the arm out", f"thickness, {reader.subject.units}"],
            rows=[
                [f"{k}", f"{size / MM_PER[reader.subject.units]:g}"]
                for k, size in enumerate(sizes if below else sizes[::-1], start=1)
            ],
        ),
    )
