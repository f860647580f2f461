"""What a survey of tape, plumb line and level makes of a wheel's points."""

from typing import Literal

from optimizer.models.answer import Answer, Fact
from optimizer.models.quantities import Triple
from optimizer.models.subject import Subject
from optimizer.models.survey import ReadingKind

Row = tuple[float, ...]
ExchangedTable = Literal["marks", "center_line", "heights", "lengths"]


class SurveyedPoint(Answer):
    """Where a point is, and one standard deviation of each coordinate. [mm]."""

    name: str
    at_mm: Triple
    sigma_mm: Triple
    mark_mm: tuple[float, float]
    """Where its floor mark came to lie, x and y."""


class SurveyedReading(Answer):
    """One reading beside all the others.

    `location` is its row as typed; `left_over` is what was read less what the points say; mm, or
    deg of a slope.  `redundancy` is the share of a mistake in it that the others show, and
    `normalized` what is left over in its own standard deviations (w of Baarda's test).
    `least_found` is the smallest mistake that the test finds in 80 of 100 surveys, None where
    nothing checks the reading.
    """

    kind: ReadingKind
    location: str
    names: tuple[str, ...]
    read: float
    left_over: float
    redundancy: float
    normalized: float
    least_found: float | None
    doubted: bool = False


class WrongReading(Fact):
    """A reading that the others contradict: what was read, and by how much too much. [mm, deg]."""

    kind: ReadingKind
    location: str
    names: tuple[str, ...]
    read: float
    by: float
    again: int = 1
    """How often its row was read."""


class LostMark(Fact):
    """A floor mark that does not lie below its joint, but forward and left of it by so much."""

    kind: Literal["plumb"] = "plumb"
    point: str
    forward_mm: float
    left_mm: float


class WrongHeights(Fact):
    """All heights of a point are too large by so much, or the floor at its mark is too low."""

    kind: Literal["floor"] = "floor"
    point: str
    by_mm: float


Explanation = WrongReading | LostMark | WrongHeights


class StandsApart(Fact):
    """A contradiction, and all that would explain it, the likeliest first.

    `sigmas` is how far it stands apart: the largest normalised residual.
    """

    explanations: tuple[Explanation, ...]
    sigmas: float


class SwappedMarks(Fact):
    """Two marks or joints whose names, interchanged, would settle every contradiction.

    In all distances from the marks, in those of one more mark, `of`, alone, or in the rows of one
    `table` alone, of "marks" those from the base.
    """

    one: str
    other: str
    of: str | None = None
    table: ExchangedTable | None = None


class LostSigns(Fact):
    """Points that lie beyond the center line, of which no distance to it is below 0."""

    points: list[str]


class BehindRear(Fact):
    """A front pivot that comes out so far behind the rear one of its arm. [mm]."""

    front: str
    rear: str
    by_mm: float


class MoreNoise(Fact):
    """The readings differ more than their stated accuracy explains, though none stands apart.

    Or those `beside` what does.
    """

    times: float
    beside: bool = False


class FloorNotRead(Fact):
    """No level was laid on the floor: what a slope of one degree would move, and where. [mm]."""

    point: str
    height_mm: float
    by_mm: float


class Unchecked(Fact):
    """Readings in which a mistake of a slipped tape would not show."""

    rows: tuple[tuple[ReadingKind, tuple[str, ...]], ...]
    slip_mm: float


class StillBlank(Fact):
    """Rows without a reading."""

    rows: int


SurveyDoubt = (
    StandsApart
    | SwappedMarks
    | LostSigns
    | BehindRear
    | MoreNoise
    | FloorNotRead
    | Unchecked
    | StillBlank
)


class SurveyAnswer(Answer):
    """The answer of `survey`.

    x is counted from the wheel center, forward; y from the line under the middle of the car, to the
    left; z from the floor.  `covariance_root` is that of a case's accuracy, in mm; `base_mm` holds
    x of base mark A and of B.  `freedom` readings are more than were needed; `noise` is what they
    scatter by over what was stated (1 as stated), judged by all that is not doubted.
    """

    format: Literal[2] = 2
    subject: Subject
    points: list[SurveyedPoint]
    base_mm: tuple[float, float]
    readings: list[SurveyedReading]
    freedom: int
    noise: float
    doubts: list[SurveyDoubt]
    covariance_root: dict[str, tuple[Row, Row, Row]]
