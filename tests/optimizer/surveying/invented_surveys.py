"""Surveys of invented cars whose points are known: each reading by hand, with errors of its own."""

from dataclasses import dataclass
from math import asin, degrees, dist, radians, tan

import numpy as np

from optimizer.files.case_file import case_from_toml
from optimizer.files.starters import SURVEY, starter, starter_case
from optimizer.files.survey_file import survey_from_toml
from optimizer.models.survey import KINDS, Survey, SurveyRow

A, B = 900.0, -900.0  # along the car, from the axle [mm]
TAPE, PLUMB, FLOOR, LEVEL = 1.0, 1.5, 1.0, 0.1
LAYOUTS = ("strut", "double-wishbone", "twin-link-strut", "five-link", "beam-axle", "leaf-axle")


@dataclass(frozen=True)
class Garage:
    """A car on a floor: true points, where the marks came to lie, and how the floor is."""

    points: dict[str, tuple[float, float, float]]
    marks: dict[str, tuple[float, float]]
    floor: dict[str, float]
    side: float
    slope: tuple[float, float]

    @staticmethod
    def of(layout, rng=None, side=1.0, slope=(0.0, 0.0)):
        """Without a generator, a floor and a plumb line without error."""
        points = case_from_toml(starter_case(layout), layout).points.model_dump()
        points = {name: (x, side * y, z) for name, (x, y, z) in points.items()}
        marks = {"A": (A, 0.0), "B": (B, 0.0)}
        floor = {}
        for name, (x, y, z) in points.items():
            errors = np.zeros(3) if rng is None else rng.normal(size=3) * [PLUMB, PLUMB, FLOOR]
            # A plumb line swings to the lower side of a floor that rises forward or to the left.
            marks[name] = (
                x - z * tan(radians(slope[0])) + errors[0],
                y - z * tan(radians(slope[1])) + errors[1],
            )
            floor[name] = errors[2]
        return Garage(points, marks, floor, side, slope)

    def read(self, kind, names):
        """What tape or level shows without an error of its own. [mm, deg]."""
        first, last = names[0], names[-1]
        if kind == "height":
            return self.points[first][2] - self.floor[first]
        if kind == "center-line":
            return self.side * self.marks[first][1]
        if kind == "marks":
            return dist(self.marks[first], self.marks[last])
        length = dist(self.points[first], self.points[last])
        if kind == "length":
            return length
        up = np.array([tan(radians(self.slope[0])), tan(radians(self.slope[1])), 1.0])
        along = np.subtract(self.points[last], self.points[first])
        rise = float(along @ up / np.linalg.norm(up))
        return rise if kind == "rise" else degrees(asin(rise / length))


def surveyed(garage, layout, rng=None, **changes) -> Survey:
    """The blank survey of a layout filled in: heights twice, all else once."""
    blank = survey_from_toml(starter(SURVEY, layout), "blank")
    rows = {}
    for key, kind in KINDS.items():
        sigma = 0.0 if rng is None else LEVEL if kind == "slope" else TAPE
        rows[key] = tuple(
            SurveyRow(
                names=row.names,
                values=tuple(
                    garage.read(kind, row.names) + (0.0 if rng is None else sigma * rng.normal())
                    for _ in range(2 if kind == "height" else 1)
                ),
            )
            for row in getattr(blank, key)
        )
    side = "left" if garage.side > 0.0 else "right"
    return blank.model_copy(update={**rows, "side": side, **changes})


def with_reading(survey, key, names, change, place=0) -> Survey:
    """The survey with one reading changed: what `change` makes of it."""
    rows = [
        row.model_copy(
            update={
                "values": tuple(
                    change(value) if k == place else value for k, value in enumerate(row.values)
                )
            }
        )
        if {*row.names} == {*names}
        else row
        for row in getattr(survey, key)
    ]
    assert rows != [*getattr(survey, key)]
    return survey.model_copy(update={key: tuple(rows)})


def file_text(survey) -> str:
    """The survey as it would be typed."""
    per = {"mm": 1.0, "in": 25.4}[survey.units]
    lines = [
        f"format = 1\nname = {survey.name!r}\nunits = {survey.units!r}",
        f"layout = {survey.layout!r}\nside = {survey.side!r}",
    ]
    for key in KINDS:
        scale = 1.0 if key == "slopes" else per
        rows = [
            ", ".join([*map(repr, row.names), *(str(x / scale) for x in row.values)])
            for row in getattr(survey, key)
        ]
        lines.append("\n".join([f"{key} = [", *(f"  [{row}]," for row in rows), "]"]))
    return "\n".join([*lines, ""])


def found_points(answer):
    return np.array([point.at_mm for point in answer.points])


def doubts_of(answer, kind):
    return [one for one in answer.doubts if isinstance(one, kind)]
