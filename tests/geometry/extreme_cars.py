"""Cars drawn at random, far from ordinary ones: long strokes, short rods, rods near their arms.

Every one is an invented car of `LINK_CARS`, `AXLE_CARS` or the corner anchors with its points
thrown about, its rod laid anew at any angle to its arm.
"""

from dataclasses import dataclass

import numpy as np

from geometry.linkages import Linkage
from geometry.motion import Motion, Reach, Rod, rod_motion

from .axle_cars import AXLE_CARS, axle_of
from .corners import Array, corner_points, link_set_of, linkage_of
from .link_cars import FIVE_LINK, TWIN_LINK_STRUT
from .printed import published
from .small_steps import GRAZING, Car, Ends, led

ANCHORS = published("corner_anchors")
BASES: dict[str, dict[str, Array]] = {
    "double-wishbone": corner_points(ANCHORS["double_wishbone"]["points"]),
    "strut": corner_points(ANCHORS["strut"]["points"]),
    "twin-link-strut": TWIN_LINK_STRUT,
    "five-link": FIVE_LINK,
    "beam-axle": next(iter(AXLE_CARS.values())),
}
LEFT = np.array([0.0, 1.0, 0.0])
SAME_ROTATION = 1e-7  # of two assemblies, which differ by far more
THROWN_MM = 20.0


@dataclass(frozen=True)
class Places:
    """Cars of one layout, and where each is looked at: P of them. [mm]"""

    layout: str
    cars: list[Car]
    ride: Array
    rack: Array
    travel: Array

    def rows(self, some: Array) -> "Places":
        cars = [self.cars[k] for k in some]
        return Places(self.layout, cars, self.ride[some], self.rack[some], self.travel[some])

    def by_small_steps(self, *, rack_first: bool = True) -> Ends:
        return led(self.cars, self.ride, self.rack, self.travel, rack_first=rack_first)

    def motion(self, row: int) -> Motion:
        """What the project finds, asked as it is asked for one car."""
        car = self.cars[row]
        inner = car.inner + self.rack[row] * LEFT
        ride = np.asarray(self.ride[row])
        rod = Rod(inner, car.outer, np.asarray(car.length), car.inner, ride)
        return rod_motion(linkage(self.layout, car), np.asarray(self.travel[row]), rod)


def linkage(layout: str, car: Car) -> Linkage:
    if layout in ("double-wishbone", "strut"):
        return linkage_of(layout, car.points, car.drop)
    return axle_of(dict(car.points)) if layout == "beam-axle" else link_set_of(car.points)


def extreme_places(layout: str, count: int, seed: int, each: int = 4) -> Places:
    """`count` cars, each looked at in so many places."""
    rng = np.random.default_rng([seed, len(layout)])
    cars, ride, rack, travel = [], [], [], []
    for _ in range(count):
        cars += [_thrown(layout, rng)] * each
        ride += [rng.uniform(-50.0, 60.0)] * each
        rack += list(rng.uniform(-90.0, 90.0, each))
        travel += list(ride[-1] + rng.uniform(-110.0, 110.0, each))
    return Places(layout, cars, np.array(ride), np.array(rack), np.array(travel))


def _thrown(layout: str, rng: np.random.Generator) -> Car:
    points = {name: point + rng.normal(0.0, THROWN_MM, 3) for name, point in BASES[layout].items()}
    rod = "drag_link" if layout == "beam-axle" else "tie_rod"
    outer = points.pop(f"{rod}_outer")
    points.pop(f"{rod}_inner")
    points[f"{rod}_outer"] = outer
    angle, lean = rng.uniform(-np.pi, np.pi), rng.uniform(-0.3, 0.3)
    way = np.array([np.sin(angle), -np.cos(angle), lean])
    inner = outer + rng.uniform(120.0, 420.0) * way
    length = float(np.linalg.norm(outer - inner) + rng.normal(0.0, 3.0))
    drop = float(rng.choice([0.0, 25.0])) if "lower_ball_joint" in points else 0.0
    return Car(points, outer, inner, length, drop)


@dataclass(frozen=True)
class Verdict:
    """How poses of the project compare with the slow reference's; rows of each kind.

    `refused` are reachable, `given` are not, `flipped` are of another assembly; `grazing` come so
    near a dead center on the way that no car could be told from one that jams, and `unstood` are
    measured at one or can't be led to their ride height at all: neither is judged.
    """

    agreed: list[int]
    flipped: list[int]
    refused: list[int]
    given: list[int]
    grazing: list[int]
    unstood: list[int]

    @staticmethod
    def of(places: Places) -> "Verdict":
        found = Verdict([], [], [], [], [], [])
        ends = places.by_small_steps()
        for row, turn in enumerate(ends.turns):
            motion = places.motion(row)
            there, here = not np.isnan(turn).any(), bool(motion.reach == Reach.REACHED)
            if not ends.stood[row]:
                found.unstood.append(row)
            elif there and ends.least[row] < GRAZING:
                found.grazing.append(row)
            elif here and there:
                same = np.abs(motion.rotation - turn).max() < SAME_ROTATION
                (found.agreed if same else found.flipped).append(row)
            elif here:
                other = places.rows(np.array([row])).by_small_steps(rack_first=False).turns[0]
                led_there = np.abs(motion.rotation - other).max() < SAME_ROTATION
                (found.agreed if led_there else found.given).append(row)
            else:
                (found.refused if there else found.agreed).append(row)
        return found
