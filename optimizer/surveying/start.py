"""Where to begin: floor marks by crossing distances, one from those before it; heights as read."""

from collections.abc import Iterator
from itertools import combinations
from math import hypot, sqrt

import numpy as np

from geometry.vectors import Array
from optimizer.surveying.observations import Observation, Unknowns

USUAL_HEIGHT_MM = 300.0  # of a point whose height was not read
USUAL_SIDE_MM = 500.0  # of a mark that nothing places
FEWEST_BESIDE = 3  # marks that tell the base beside its reading
FAR_OFF, NEAR = 0.3, 0.01  # of the base
LEAST_ACROSS_MM = 1.0  # of a crossing that just misses

Place = tuple[float, float]
Circle = tuple[Place, float]


def start_of(places: Unknowns, observations: list[Observation]) -> Array:
    """Unknowns to begin with, (U,). [mm, deg]."""
    read = _means(observations)
    base = _base(read)
    placed: dict[str, Place] = {"A": (0.0, 0.0), "B": (-base, 0.0)}
    left = set(places.names)
    while left:
        name = max(sorted(left), key=lambda one: len(_circles(one, read, placed)))
        placed[name] = _crossing(name, places, read, placed)
        left.remove(name)
    start = np.zeros(places.size)
    height = {
        name: read.get(("height", frozenset([name])), USUAL_HEIGHT_MM) for name in places.names
    }
    points = [(*placed[name], height[name]) for name in places.names]
    count = len(places.names)
    start[: 3 * count] = np.ravel(points)
    start[3 * count : 5 * count] = np.ravel([placed[name] for name in places.names])
    start[6 * count] = -base
    start[-2:] = [one.value for one in observations if one.kind.startswith("slope-")]
    return start


def base_of(places: Unknowns, start: Array) -> float:
    """Distance of the base marks in the unknowns to begin with. [mm]."""
    return -float(start[6 * len(places.names)])


def rows_far_off(places: Unknowns, observations: list[Observation], start: Array) -> list[int]:
    """Readings of the base that are far from what the others make it, mostly in another unit."""
    base = base_of(places, start)
    return [
        row
        for row, one in enumerate(observations)
        if one.kind == "marks"
        and {*one.names} == {*"AB"}
        and abs(one.value - base) > FAR_OFF * base
    ]


def _means(observations: list[Observation]) -> dict[tuple[str, frozenset[str]], float]:
    """What was read, repeated readings averaged, by kind and names."""
    values: dict[tuple[str, frozenset[str]], list[float]] = {}
    for one in observations:
        values.setdefault((one.kind, frozenset(one.names)), []).append(one.value)
    return {key: sum(of_key) / len(of_key) for key, of_key in values.items()}


def _base(read: dict[tuple[str, frozenset[str]], float]) -> float:
    """Distance of the base marks as read, or where the other readings are far from it, by those.

    Each mark whose distance to the center line was read tells it: as the sum of how far it lies
    from either base mark along that line, or where it is not between them as the difference.
    """
    typed, sums, fits = read["marks", frozenset("AB")], [], []
    for (kind, names), across in read.items():
        to_both = [read.get(("marks", names | {base})) for base in "AB"]
        if kind == "center-line" and None not in to_both:
            squares = np.square([one or 0.0 for one in to_both]) - across**2
            from_a, from_b = np.sqrt(np.maximum(squares, 0.0))
            sums.append(from_a + from_b)
            fits.append(min(abs(typed - from_a - from_b), abs(typed - abs(from_a - from_b))))
    if len(sums) < FEWEST_BESIDE:
        return typed
    usual = float(np.median(sums))
    far = abs(typed - usual) > FAR_OFF * usual and float(np.median(fits)) > NEAR * usual
    return usual if far else typed


def _circles(
    name: str, read: dict[tuple[str, frozenset[str]], float], placed: dict[str, Place]
) -> list[Circle]:
    """Marks that are placed already, with their distances to this one."""
    found = ((at, read.get(("marks", frozenset([name, other])))) for other, at in placed.items())
    return [(at, distance) for at, distance in found if distance is not None]


def _crossing(
    name: str,
    places: Unknowns,
    read: dict[tuple[str, frozenset[str]], float],
    placed: dict[str, Place],
) -> Place:
    """Where a mark fits its distances best, of all places where two of them cross."""
    circles, across = _circles(name, read, placed), read.get(("center-line", frozenset([name])))
    side = places.side * (USUAL_SIDE_MM if across is None else across)

    def misfit(place: Place) -> float:
        missed = (hypot(place[0] - x, place[1] - y) - distance for (x, y), distance in circles)
        offset = (place[1] - side) * (1.0 if across is not None else 1e-3)
        return sum(each * each for each in missed) + offset * offset

    found = [
        *(place for pair in combinations(circles, 2) for place in _of_two(*pair)),
        *(place for circle in circles if across is not None for place in _beside(circle, side)),
    ]
    middle = sum(x for x, _ in placed.values()) / len(placed)
    return min(found, key=misfit, default=(middle, side))


def _of_two(one: Circle, other: Circle) -> Iterator[Place]:
    (x, y), radius = one
    (to_x, to_y), other_radius = other
    apart = hypot(to_x - x, to_y - y)
    if apart < LEAST_ACROSS_MM:
        return
    along = (apart**2 + radius**2 - other_radius**2) / (2.0 * apart)
    ahead, aside = (to_x - x) / apart, (to_y - y) / apart
    across = sqrt(max(radius**2 - along**2, 0.0))
    for off in (across, -across):
        yield x + along * ahead - off * aside, y + along * aside + off * ahead


def _beside(circle: Circle, side: float) -> Iterator[Place]:
    (x, y), radius = circle
    along = sqrt(max(radius**2 - (side - y) ** 2, 0.0))
    yield x + along, side
    yield x - along, side
