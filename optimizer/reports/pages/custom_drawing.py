"""The drawing of a pivot made to measure: where it must sit, from where, and how exactly."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from optimizer.models.custom_pivot import Coordinate, CustomPivot, CustomWheel, PivotName
from optimizer.reports.pages.parts import Figure, Table
from optimizer.units import MM_PER
from optimizer.wording.custom import tolerance_in_words
from optimizer.wording.custom_drawing import TABLE_TITLES, VIEWS, alt_of_pivot, pivot_caption
from optimizer.wording.reader import Reader

Flat = tuple[float, float]

SIZE, EDGE = 150.0, 40.0  # of a view, and around it
LEAST_MM = 4.0  # a view shows at least so much to every side
STEPS = 1.18  # room that is left around what is drawn


class View(Struct, frozen=True):
    """A view along one axis: standard place, room, and the pivot. [mm].

    Places are across and up on paper from the standard place; `room` is its two corners, None where
    the pivot can't move in this view.
    """

    name: str
    across: str
    up: str
    room: tuple[Flat, Flat] | None
    pivot: Flat


class PivotDrawing(Struct, frozen=True):
    """A pivot from ahead, from above and from the left."""

    views: list[View]
    size: float = SIZE
    edge: float = EDGE

    @property
    def half(self) -> float:
        """What every view shows to each side of the standard place. [mm]."""
        places = [
            abs(x)
            for view in self.views
            for point in ((view.pivot,) if view.room is None else (view.pivot, *view.room))
            for x in point
        ]
        return STEPS * max([LEAST_MM, *places])

    @property
    def width(self) -> float:
        """Of all views. [units of the drawing]."""
        return len(self.views) * (self.size + 2.0 * self.edge)

    @property
    def height(self) -> float:
        """Of a view with its titles. [units of the drawing]."""
        return self.size + 2.0 * self.edge

    def at(self, number: int, place: Flat) -> Flat:
        """Where a place of a view stands on the drawing."""
        rate = 0.5 * self.size / self.half
        left = number * (self.size + 2.0 * self.edge) + self.edge + 0.5 * self.size
        return round(left + rate * place[0], 2), round(
            self.edge + self.size / 2 - rate * place[1], 2
        )


def custom_figures(pivot: CustomPivot, reader: Reader) -> list[Figure]:
    """Draw every pivot that is made to measure, wheel by wheel."""
    return [
        Figure(
            "custom_pivot.svg",
            f"custom-{name}-{wheel.side}",
            pivot_caption(wheel.side, name, reader),
            alt_of_pivot(wheel.side, name, reader),
            PivotDrawing(list(_views(places))),
            _table(places, reader),
        )
        for wheel in pivot.wheels
        for name, places in made(wheel).items()
    ]


def made(wheel: CustomWheel) -> dict[PivotName, list[Coordinate]]:
    """Coordinates of each pivot of a wheel, x, y, z."""
    found: dict[PivotName, list[Coordinate]] = {}
    for one in wheel.coordinates:
        found.setdefault(one.pivot, []).append(one)
    return found


def _views(places: Sequence[Coordinate]) -> Iterator[View]:
    by_axis = {one.axis: one for one in places}
    for view in VIEWS:
        (across, sign), (up, way) = view.across, view.up
        u, v = by_axis[across], by_axis[up]
        low, high = ((sign * u.room_mm[k], way * v.room_mm[k]) for k in (0, 1))
        yield View(
            view.name,
            view.across_title,
            view.up_title,
            None if low == high else (low, high),
            (sign * u.move_mm, way * v.move_mm),
        )


def _table(places: Sequence[Coordinate], reader: Reader) -> Table:
    units = reader.subject.units
    return Table(
        titles=[title.format(units=units) for title in TABLE_TITLES],
        rows=[
            [
                one.axis,
                f"{one.place_mm / MM_PER[units]:+.{3 if units == 'in' else 2}f}",
                reader.machined(one.move_mm),
                tolerance_in_words(one.tolerance_mm, reader),
                tolerance_in_words(one.tolerance_together_mm, reader),
            ]
            for one in places
        ],
        words=frozenset({0}),
    )
