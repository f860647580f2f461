"""Cars with a tube planted where the tie rod or its joint comes near it, and what is true of them.

The truth is sampled every half millimeter of travel and of rack travel, whatever the program does
between the places it looks at.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import unit
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.files.case_file import read_case
from optimizer.limits.gaps import gaps
from optimizer.limits.margins import margins
from optimizer.limits.surroundings import Surroundings
from optimizer.limits.tilts import joint_tilts
from optimizer.models.limits import InnerJoint, Joint, OuterJoint
from optimizer.models.obstacles import Tube

from .command_line import CASES

Array = NDArray[np.float64]

SPREAD_MM = 6.0  # of the points about those of a demo car, 1 sigma
STEP_MM = 0.5
LINES_AT_A_TIME = 16  # of sampled heights, so that what is worked on stays in the cache
ROUNDING_MM = 1e-6  # of poses that were found in another batch
CARRIERS = {
    "lowered-strut": ("chassis", "upright", "lower-arm"),
    "track-wishbone": ("chassis", "upright", "lower-arm"),
    "tension-link-strut": ("chassis", "upright"),
    "five-link-front": ("chassis", "upright"),
    "lifted-beam-axle": ("chassis", "upright", "axle"),
    "lifted-leaf-axle": ("chassis", "upright", "axle"),
}
JOINT = Joint(
    rod_diameter=18.0,
    housing_diameter=36.0,
    housing_height=24.0,
    outer=OuterJoint(tilt_limit_deg=40.0),
    inner=InnerJoint(tilt_limit_deg=40.0),
)


@dataclass(frozen=True)
class PlantedCar:
    """One setting of a car whose only obstacles are planted tubes."""

    evaluator: Evaluator
    setting: Settings

    def stated(self) -> tuple[float, float]:
        """Smallest gap [mm] and least margin of tilt [deg], as the program states them.

        They are those of the places that it names.
        """
        found = margins(self.evaluator, self.setting, follow="smallest")
        told = [
            min((one for one in found if one.kind == kind), key=lambda one: float(one.margin[0]))
            for kind in ("gap", "tilt")
        ]
        for which, one in enumerate(told):
            there = self._smallest_at(one.travel, one.rack_travel)[which, 0]
            assert abs(there - one.margin[0]) <= ROUNDING_MM
        gap, spare = (float(one.margin[0]) for one in told)
        return gap, spare

    def sampled(self, step: float = STEP_MM) -> tuple[float, float]:
        """The same, of all that a fine grid holds, and a finer one about the smallest of it."""
        full, travel = self.evaluator.case.steering.rack_travel, self.evaluator.travel
        sides = np.array([[travel[0], travel[-1]], [-full, full]])
        found = self._sampled(sides, step)
        for which in (0, 1):
            about = found[which, 1:, None] + [-step, step]
            closer = self._sampled(np.clip(about, sides[:, :1], sides[:, 1:]), step / 20.0)
            found[which, 0] = min(found[which, 0], closer[which, 0])
        gap, spare = found[:, 0].tolist()
        return gap, spare

    def _sampled(self, sides: Array, step: float) -> Array:
        """Smallest gap and least margin of tilt within sides, each with its place, (2, 3)."""
        heights, racks = (_fine(*side, step) for side in sides)
        parts = np.array_split(racks, -(-racks.size // LINES_AT_A_TIME))
        found = np.array([self._smallest_at(*np.meshgrid(heights, part)) for part in parts])
        best = found[:, :, 0].argmin(axis=0)
        return found[best, [0, 1]]

    def _smallest_at(self, travel: Array, rack: Array) -> Array:
        """The same of some places, (2, 3)."""
        travel, rack = travel.ravel(), rack.ravel()
        motion = self.evaluator.motion(self.setting, travel, rack)
        at = (self.evaluator, self.setting, motion, rack)
        gap = np.min([one.value()[0] for one in gaps(*at) if one.kind == "gap"], axis=0)
        tilt = np.degrees(np.max([tilts[0] for tilts in joint_tilts(*at)], axis=0))
        values = (gap, float(JOINT.outer.tilt_limit_deg) - tilt)
        assert np.isfinite(values).all()
        return np.array([(v.min(), travel[v.argmin()], rack[v.argmin()]) for v in values])


def _fine(low: float, high: float, step: float) -> Array:
    return np.linspace(low, high, 1 + int(np.ceil((high - low) / step)))


def planted_cars(demo: str, rng: np.random.Generator) -> Iterator[PlantedCar]:
    """Cars about a demo car, with a lock of 40 to 75 mm and one to three tubes, without end.

    Where the linkage does not follow to its locks, another car is drawn.
    """
    car = Evaluator.of(read_case(CASES / f"{demo}.toml"))
    sigma = car.case.accuracy.of("wheel_center")[0]
    while True:
        lock = float(rng.uniform(40.0, 75.0))
        steering = car.case.steering.model_copy(update={"rack_travel": lock})
        case = car.case.model_copy(update={"steering": steering, "joint": JOINT, "obstacles": ()})
        errors = rng.normal(size=(1, len(point_names(car.corner)), 3)) * SPREAD_MM / sigma
        corner = moved_corner(car, errors).row(0)
        free = Evaluator(case, corner, car.travel, {})
        setting = Settings.single(float(rng.uniform(0.0, 20.0)))
        if not follows(free, setting):
            continue
        kinds = rng.choice(CARRIERS[demo], size=rng.integers(1, 4))
        tubes = tuple(_tube(free, setting, rng, str(kind), k) for k, kind in enumerate(kinds))
        with_tubes = case.model_copy(update={"obstacles": tubes})
        yield PlantedCar(Evaluator(with_tubes, corner, car.travel, {}), setting)


def follows(evaluator: Evaluator, setting: Settings) -> bool:
    """Whether the linkage reaches every place of a coarse grid."""
    full, travel = evaluator.case.steering.rack_travel, evaluator.travel
    heights, racks = np.meshgrid(
        np.linspace(travel[0], travel[-1], 9), np.linspace(-full, full, 31)
    )
    motion = evaluator.motion(setting, heights.ravel(), racks.ravel())
    return bool((motion.reach == 0).all())


def _tube(
    evaluator: Evaluator, setting: Settings, rng: np.random.Generator, carrier: str, number: int
) -> Tube:
    """Tube beside the rod at a random place of travel x lock, as measured on what carries it."""
    full, travel = evaluator.case.steering.rack_travel, evaluator.travel
    place = np.array([rng.uniform(travel[0], travel[-1])]), np.array([rng.uniform(-full, full)])
    motion = evaluator.motion(setting, *place)
    outer, inner = (end[0, 0] for end in evaluator.rod_ends(setting, motion, place[1]))
    along = unit(inner - outer)
    beside = unit(np.cross(along, rng.normal(size=3)))
    radius, gap = rng.uniform(3.0, 15.0), rng.uniform(-3.0, 15.0)
    away = 0.5 * JOINT.housing_diameter + radius + gap
    near = outer + rng.uniform(-0.1, 0.8) * (inner - outer) + away * beside
    # Mostly across the rod, sometimes nearly along it.
    line = unit(np.cross(beside, along) + rng.normal(size=3) * rng.choice([0.2, 1.5]))
    ends = near - line * rng.uniform(0.0, 120.0), near + line * rng.uniform(5.0, 120.0)
    around = Surroundings(evaluator.corner, np.ones(3), setting.linkage, motion)
    start, end = (around.seen(end[None, None], carrier)[0, 0] for end in ends)
    return Tube(
        name=f"tube {number}",
        fixed_to=carrier,
        start=tuple(start.tolist()),
        end=tuple(end.tolist()),
        diameter=2.0 * radius,
    )
