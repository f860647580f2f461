"""Cars whose truth is known: a true car, the tape's reading of it, and the car as it is built.

What is said of a car by tape counts every true car that could have been read so as equally
probable beforehand.  So it is among cars of which nothing is known but the tape (`ANY_CAR`): truths
lie about what was read as readings lie about a truth.  Cars of a population are not so: what is
read far out in it was, more often than not, read too far out.  Every car is invented.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.errors import PivotwrightError
from optimizer.models.case import Case
from tests.optimizer.gauging.garage_cars import KINDS, Kind

TAPE_MM = 2.0  # what `[accuracy]` says where a case says nothing
LOWERED_MM = (20.0, 50.0)
BEAM = Kind(
    "beam axle",
    "beam-axle",
    {
        "link_1_inner": (60.0, -430.0, 402.0),
        "link_1_outer": (52.0, 418.0, 371.0),
        "link_2_inner": (-905.0, 405.0, 402.0),
        "link_2_outer": (-62.0, 452.0, 318.0),
        "link_3_inner": (-905.0, -405.0, 402.0),
        "link_3_outer": (-62.0, -452.0, 318.0),
        "link_4_inner": (-712.0, -262.0, 561.0),
        "link_4_outer": (-18.0, -251.0, 472.0),
        "kingpin_lower": (9.0, 702.0, 281.0),
        "kingpin_upper": (-12.0, 676.0, 442.0),
        "cross_rod_end": (-162.0, 642.0, 322.0),
        "drag_link_inner": (148.0, -246.0, 468.0),
        "drag_link_outer": (151.0, 618.0, 398.0),
        "wheel_center": (0.0, 803.0, 364.0),
    },
    364.0,
)
EVERY_KIND = [*KINDS, BEAM]
ON_LINKS = {"twin-link-strut": 1, "five-link": 2, "beam-axle": 1}  # the link nearest to the rod


@dataclass(frozen=True)
class Population:
    """How cars differ: every coordinate by `spread`, the outer pivot by `higher` as well. [mm].

    These are the true cars, or with `by_tape` what the tape reads of cars that differ endlessly.
    """

    name: str
    by_tape: bool = False
    spread: float = 6.0
    higher: tuple[float, float] = (-12.0, 35.0)


ANY_CAR = Population("any car", by_tape=True)


@dataclass(frozen=True)
class TrueCar:
    """The case as its owner types it, the case as the car is, and what the build is off by.

    `built` (5,) are shares of the tolerances in the order of `many_cars.BUILT`.
    """

    tape: Evaluator
    case: Case
    built: Array

    def as_built(self) -> Evaluator:
        """The true car with any setting fitted as exactly as this workshop fits it."""
        true = Evaluator.of(self.case)
        corner, ride, accuracy = true.corner, self.case.ride, self.case.accuracy
        stack, height, center, toe, rod = self.built.tolist()
        turned = np.degrees(accuracy.rod_play * rod / corner.steering_arm)
        static = np.degrees(true.static_toe) + accuracy.toe_setting_deg * toe + turned
        stands = {"lowered_by": ride.lowered_by + accuracy.ride_height * height}
        moved = replace(
            corner,
            outer_seat=corner.outer_seat + accuracy.stack * stack * corner.stud_axis,
            inner=corner.inner + accuracy.rack_center * center * corner.rack_axis,
        )
        now = ride.model_copy(update={**stands, "toe_deg": float(static)})
        case = self.case.model_copy(update={"ride": now})
        return Evaluator(case, moved, true.travel, {})


def true_cars(kind: Kind, population: Population, seeds: list[int]) -> Iterator[TrueCar]:
    """Cars of a kind, one after another; those that can't be assembled are left out."""
    rng = np.random.default_rng([*seeds, *kind.name.encode(), *population.name.encode()])
    while True:
        typed = _typed(kind, population, rng)
        erred = {
            name: (np.array(point) + TAPE_MM * rng.normal(size=3)).tolist()
            for name, point in typed["points"].items()
        }
        built = rng.uniform(-1.0, 1.0, 5)
        both = [typed, typed | {"points": erred}]
        truth, tape = map(Case.model_validate, reversed(both) if population.by_tape else both)
        try:
            yield TrueCar(Evaluator.of(tape), truth, built)
        except PivotwrightError:
            continue


def _typed(kind: Kind, population: Population, rng: np.random.Generator) -> dict[str, Any]:
    points = {
        name: np.array(point) + population.spread * rng.normal(size=3)
        for name, point in kind.points.items()
    }
    outer = "tie_rod_outer" if "tie_rod_outer" in points else "drag_link_outer"
    points[outer] += [0.0, 0.0, rng.uniform(*population.higher)]
    link = ON_LINKS.get(kind.layout)
    low = {"kind": "suspension-links", "numbers": [link]} if link else {"kind": "lower-arm"}
    lowered = rng.uniform(*LOWERED_MM)
    return {
        "format": 1,
        "name": "A car that is known",
        "units": "mm",
        "layout": kind.layout,
        "points": {name: point.tolist() for name, point in points.items()},
        "wheel": {"camber_deg": rng.uniform(-2.0, 0.0), "tire_radius": kind.tire_radius},
        "ride": {
            "lowered_by": -lowered if kind is BEAM else lowered,
            "bump": 50.0,
            "droop": 50.0,
        },
        "steering": {"rack_travel": 50.0},
        "outer_pivot": {"stack": {"min": -20.0, "max": 40.0, "step": 1.0}},
        "joint": {
            "rod_diameter": 16.0,
            "housing_diameter": 34.0,
            "housing_height": 20.0,
            "outer": {"tilt_limit_deg": 16.0},
        },
        "thread": {"diameter": 16.0, "pitch": 1.5, "engaged": 30.0},
        "obstacles": [low | {"name": "low link", "diameter": 28.0}],
    }
