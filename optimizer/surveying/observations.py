r"""What tape, plumb line and level would read, from where points, marks and floor are.

Beside the points there are unknown too: where each floor mark came to lie, how high the floor is
there, where base mark B is on the center line, and how the floor slopes.  What ties them to the
points is a reading like any other: a plumb line with its error, a floor with its.

::

    z up from the floor's plane          looking down on the floor

      o point                             A o-------- center line, y = 0 --------o B
      :                                      \   ` .                           /
      : plumb line                            \      ` .                     /
      :                                         \        `  other mark     /
    --x----- floor                                \______ x mark _______ /

A is the origin; y is to the left, B behind A.
"""

from collections.abc import Iterator
from functools import cached_property

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.models.survey import BASE, Survey

DEG = np.pi / 180.0  # functions of degrees take no complex numbers
TAKEN_AS_LEVEL_DEG = 1e-4  # of a floor on which no level was laid
FLOOR_SLOPES = ("forward", "left")

Rows = NDArray[np.intp]


class Observation(Struct, frozen=True):
    """One thing that was read, or that the plumb line and the floor are taken to say.

    `kind` is that of a reading, or "plumb-x", "plumb-y", "floor", "slope-forward", "slope-left".
    [mm, deg]
    """

    kind: str
    names: tuple[str, ...]
    value: float
    sigma: float
    row: int = 0
    """Place of its row among those of its kind, from 0."""


class Unknowns(Struct, frozen=True, dict=True):
    """Where each unknown stands in the vector of unknowns, (U,)."""

    names: tuple[str, ...]
    side: float
    """+1 for a left wheel, -1 for a right one."""

    @property
    def size(self) -> int:
        """How many unknowns there are."""
        return 6 * len(self.names) + 3

    def points(self, unknowns: Array) -> Array:
        """Points, (..., P, 3). [mm]."""
        count = len(self.names)
        return unknowns[..., : 3 * count].reshape(*unknowns.shape[:-1], count, 3)

    def marks(self, unknowns: Array) -> Array:
        """Floor marks below the points, then A and B, (..., P + 2, 2). [mm]."""
        count = len(self.names)
        marks = unknowns[..., 3 * count : 5 * count].reshape(*unknowns.shape[:-1], count, 2)
        base = np.zeros((*unknowns.shape[:-1], 2, 2), dtype=unknowns.dtype)
        base[..., 1, 0] = unknowns[..., 6 * count]
        return np.concatenate([marks, base], axis=-2)

    def floor(self, unknowns: Array) -> Array:
        """Height of the floor at each mark, (..., P). [mm]."""
        count = len(self.names)
        floor: Array = unknowns[..., 5 * count : 6 * count]
        return floor

    def tilt(self, unknowns: Array) -> Array:
        """Slope of the floor forward and to the left, (..., 2). [deg]."""
        tilt: Array = unknowns[..., -2:]
        return tilt

    def place(self, name: str) -> int:
        """Place of a point or base mark among the marks."""
        return self._place[name]

    @cached_property
    def _place(self) -> dict[str, int]:
        return {name: number for number, name in enumerate((*self.names, *BASE))}


def unknowns_of(survey: Survey) -> Unknowns:
    """Where the unknowns of a survey stand."""
    return Unknowns(survey.point_names, 1.0 if survey.side == "left" else -1.0)


def observations_of(survey: Survey) -> list[Observation]:
    """All that a survey says, its readings first."""
    return [*_read(survey), *_tied(survey)]


def _read(survey: Survey) -> Iterator[Observation]:
    accuracy = survey.accuracy
    for kind, rows in survey.rows.items():
        sigma = accuracy.level_deg if kind == "slope" else accuracy.tape
        for place, row in enumerate(rows):
            for value in row.values:
                yield Observation(kind, row.names, value, sigma, place)


def _tied(survey: Survey) -> Iterator[Observation]:
    accuracy, floor = survey.accuracy, survey.floor
    for name in survey.point_names:
        yield Observation("plumb-x", (name,), 0.0, accuracy.plumb)
        yield Observation("plumb-y", (name,), 0.0, accuracy.plumb)
        yield Observation("floor", (name,), 0.0, accuracy.floor)
    slopes = (0.0, 0.0) if floor is None else (floor.rises_forward_deg, floor.rises_left_deg)
    sigma = TAKEN_AS_LEVEL_DEG if floor is None else accuracy.level_deg
    for way, slope in zip(FLOOR_SLOPES, slopes, strict=True):
        yield Observation(f"slope-{way}", (), slope, sigma)


class Network(Struct, frozen=True, dict=True):
    """The observations of a survey, in batches by kind, as one model of its unknowns."""

    places: Unknowns
    observations: list[Observation]

    def __call__(self, unknowns: Array) -> Array:
        """What would be read, (..., N), at unknowns (..., U), complex ones too. [mm, deg]."""
        said = np.empty((*unknowns.shape[:-1], len(self.observations)), dtype=unknowns.dtype)
        for kind, rows, at in self._batches:
            said[..., rows] = self._said(kind, at, unknowns)
        return said

    @cached_property
    def values(self) -> Array:
        """What was read, (N,). [mm, deg]."""
        return np.array([one.value for one in self.observations])

    @cached_property
    def sigma(self) -> Array:
        """Standard deviation of each reading, (N,). [mm, deg]."""
        return np.array([one.sigma for one in self.observations])

    @cached_property
    def _batches(self) -> list[tuple[str, list[int], Rows]]:
        """Of each kind the rows, and the places between which they are, (M, 0 to 2)."""
        of_kind: dict[str, list[int]] = {}
        for row, one in enumerate(self.observations):
            of_kind.setdefault(one.kind, []).append(row)
        place = self.places.place
        return [
            (kind, rows, np.array([[*map(place, self.observations[k].names)] for k in rows]))
            for kind, rows in of_kind.items()
        ]

    def _said(self, kind: str, at: Rows, unknowns: Array) -> Array:
        """Readings of one kind between the places `at` (M, 1 or 2)."""
        places = self.places
        points, marks, tilt = places.points(unknowns), places.marks(unknowns), places.tilt(unknowns)
        if kind.startswith("slope-"):
            return tilt[..., [FLOOR_SLOPES.index(kind.removeprefix("slope-"))]]
        start = at[:, 0]
        if kind == "center-line":
            return places.side * marks[..., start, 1]
        if kind == "floor":
            return places.floor(unknowns)[..., start]
        if kind == "height":
            return points[..., start, 2] - places.floor(unknowns)[..., start]
        if kind.startswith("plumb-"):
            axis = "xy".index(kind[-1])
            leans = points[..., start, 2] * np.tan(tilt[..., [axis]] * DEG)
            return marks[..., start, axis] - points[..., start, axis] + leans
        end = at[:, 1]
        if kind == "marks":
            return _length(marks[..., end, :] - marks[..., start, :])
        along = points[..., end, :] - points[..., start, :]
        if kind == "length":
            return _length(along)
        slope = np.tan(tilt * DEG)
        rise = along[..., 2] + (along[..., :2] * slope[..., None, :]).sum(axis=-1)
        rise = rise / np.sqrt(1.0 + (slope**2).sum(axis=-1))[..., None]
        read: Array = rise if kind == "rise" else np.arcsin(rise / _length(along)) / DEG
        return read


def _length(between: Array) -> Array:
    """Length of vectors, complex ones too: no absolute value is taken."""
    length: Array = np.sqrt((between**2).sum(axis=-1))
    return length
