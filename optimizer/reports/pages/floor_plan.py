"""The floor as a survey sees it from above: base line, marks, what was read, and how surely."""

from collections.abc import Callable, Iterable, Mapping
from math import atan2, cos, hypot, pi, sin, sqrt

from msgspec import Struct

from optimizer.models.survey import Survey
from optimizer.models.surveyed import LostMark, SurveyAnswer
from optimizer.reports.pages.parts import Figure, rendered
from optimizer.wording.survey import PLAN_ALT, PLAN_CAPTION, PLAN_TO_READ

HEIGHT = 560.0  # of the drawing between the base marks
MARGIN = 24.0
NAMES = 190.0  # width of the column of names
LINE = 17.0  # between two names
LARGER = 20.0  # how much larger ellipses are than the errors that they stand for
TURNED = 36  # sides of an ellipse as drawn

Place = tuple[float, float]


class Named(Struct, frozen=True):
    """A mark, and where its name stands."""

    x: float
    y: float
    name: str
    name_x: float
    name_y: float
    doubted: bool
    ellipse: str = ""


class Drawn(Struct, frozen=True):
    """What was read between two marks."""

    x1: float
    y1: float
    x2: float
    y2: float
    style: str


class FloorPlan(Struct, frozen=True):
    """The plan in the places of a drawing: ahead is up, the car's left to the left."""

    base: list[Named]
    marks: list[Named]
    lines: list[Drawn]
    names_at: str
    width: float
    height: float


class _Seen(Struct, frozen=True):
    """What goes into a plan: places [mm], pairs between which was read, and what is doubted."""

    marks: Mapping[str, Place]
    base: tuple[float, float]
    pairs: Iterable[tuple[str, str]]
    doubted_pairs: frozenset[frozenset[str]] = frozenset()
    doubted_marks: frozenset[str] = frozenset()
    spread: Mapping[str, tuple[float, float, float]] | None = None
    """Variance along the car, covariance, variance across. [mm^2]"""


def floor_plan(answer: SurveyAnswer) -> Figure:
    """Draw a survey that was read."""
    doubted = [one for one in answer.readings if one.doubted and one.kind == "marks"]
    explained = [one for doubt in answer.doubts for one in getattr(doubt, "explanations", ())]
    seen = _Seen(
        marks={point.name: point.mark_mm for point in answer.points},
        base=answer.base_mm,
        pairs=[_pair(one.names) for one in answer.readings if one.kind == "marks"],
        doubted_pairs=frozenset(frozenset(one.names) for one in doubted),
        doubted_marks=frozenset(one.point for one in explained if isinstance(one, LostMark)),
        spread={name: _spread(rows[0], rows[1]) for name, rows in answer.covariance_root.items()},
    )
    caption = PLAN_CAPTION.format(larger=LARGER)
    return Figure("floor_plan.svg", "floor-plan", caption, PLAN_ALT, _placed(seen))


def plan_to_read(survey: Survey, marks: Mapping[str, Place], base: tuple[float, float]) -> Figure:
    """Draw what is to be read, with marks about where they will be. [mm]."""
    seen = _Seen(marks, base, [_pair(row.names) for row in survey.marks])
    return Figure("floor_plan.svg", "floor-plan", PLAN_TO_READ, PLAN_ALT, _placed(seen))


def plan_svg(figure: Figure) -> str:
    """Write a plan as a drawing by itself."""
    return rendered("plan.svg", figure=figure, drawing=figure.drawing)


def _pair(names: tuple[str, ...]) -> tuple[str, str]:
    return names[0], names[1]


def _spread(along: tuple[float, ...], across: tuple[float, ...]) -> tuple[float, float, float]:
    """Variances and covariance of a point's x and y from their rows of the root."""
    both = sum(a * b for a, b in zip(along, across, strict=False))
    return sum(a * a for a in along), both, sum(b * b for b in across)


def _placed(seen: _Seen) -> FloorPlan:
    """Put a plan into the places of a drawing."""
    ahead, behind = max(seen.base), min(seen.base)
    rate = HEIGHT / (ahead - behind)
    sides = [y for _, y in seen.marks.values()]
    left = sum(sides) > 0.0
    reach = max(map(abs, sides)) * rate
    width = NAMES + reach + 2.0 * MARGIN + NAMES * 0.25
    line = NAMES + reach + MARGIN if left else width - NAMES - reach - MARGIN

    def at(place: Place) -> Place:
        return round(line - place[1] * rate, 1), round(MARGIN + (ahead - place[0]) * rate, 1)

    base = [
        Named(
            *at((x, 0.0)), name, at((x, 0.0))[0] + (10.0 if left else -10.0), at((x, 0.0))[1], False
        )
        for name, x in zip("AB", seen.base, strict=True)
    ]
    named = _beside(seen, at, NAMES if left else width - NAMES, rate)
    places = {**seen.marks, "A": (seen.base[0], 0.0), "B": (seen.base[1], 0.0)}
    lines = [
        Drawn(*at(places[one]), *at(places[other]), _style(seen, one, other))
        for one, other in dict.fromkeys(seen.pairs)
    ]
    return FloorPlan(
        base, named, lines, "end" if left else "start", round(width, 1), HEIGHT + 2.0 * MARGIN
    )


def _style(seen: _Seen, one: str, other: str) -> str:
    if frozenset((one, other)) in seen.doubted_pairs:
        return "doubted"
    return "to-base" if {one, other} & {"A", "B"} else "between"


def _beside(seen: _Seen, at: Callable[[Place], Place], names_at: float, rate: float) -> list[Named]:
    """Marks with their names in a column at the side, none over another."""
    placed = sorted(
        ((*at(place), name) for name, place in seen.marks.items()), key=lambda one: one[1]
    )
    middle = sum(y for _, y, _ in placed) / len(placed)
    first = max(middle - 0.5 * LINE * (len(placed) - 1), MARGIN)
    return [
        Named(
            x=x,
            y=y,
            name=name,
            name_x=names_at,
            name_y=round(first + LINE * k, 1),
            doubted=name in seen.doubted_marks,
            ellipse="" if seen.spread is None else _ellipse(seen.spread[name], (x, y), rate),
        )
        for k, (x, y, name) in enumerate(placed)
    ]


def _ellipse(spread: tuple[float, float, float], center: Place, rate: float) -> str:
    """Points of the standard ellipse, larger than it is; x of the car is up, its left is left."""
    along, both, across = spread
    middle, half = 0.5 * (along + across), hypot(0.5 * (along - across), both)
    major, minor = sqrt(middle + half), sqrt(max(middle - half, 0.0))
    turn = 0.5 * atan2(2.0 * both, along - across)
    points = []
    for k in range(TURNED):
        angle = 2.0 * pi * k / TURNED
        a, b = major * cos(angle), minor * sin(angle)
        forward, left = a * cos(turn) - b * sin(turn), a * sin(turn) + b * cos(turn)
        x, y = center[0] - left * rate * LARGER, center[1] - forward * rate * LARGER
        points.append(f"{x:.1f},{y:.1f}")
    return " ".join(points)
