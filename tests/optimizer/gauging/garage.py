"""A simulated garage: cars measured by tape, swept with a gauge, shimmed, and found out.

Every car is invented at random about a kind's usual points.  Its owner knows the points to 2 mm
per coordinate and reads two dials to 0.03 mm; the true car is solved exactly.  What the program
makes of the readings is judged on the true car, beside what people do without them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

import numpy as np

from geometry.motion import Motion
from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.gauging.loop import gauge
from optimizer.models.case import Case
from optimizer.models.gauge import NextSetting
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import Space, space_of

from .garage_cars import Kind
from .sweeps import true_car

SEED = 1
SPREAD_MM = 6.0  # of a kind's points, from car to car
LOWERED_MM = (20.0, 50.0)
STROKE_MM = 50.0
TALLEST_MM = 25.0
SPACING_MM = 500.0
DIAL_NOISE_MM = 0.03
SWEPT_MM = np.arange(-STROKE_MM, STROKE_MM + 1.0, 10.0)


@dataclass(frozen=True)
class Work:
    """What the garage is asked for: what the tape asks for, stack and spacer together, in its cars.

    `asked` is the least and the most of it. [mm]
    """

    name: str
    asked: tuple[float, float]
    spacers: tuple[float, ...] = (0.0,)


@dataclass(frozen=True)
class Outcome:
    """Peaks that the true car has with each choice of parts, and what was promised. [deg].

    `first` is what one sweep asks for, `promised` its 95 % bound, `second` what is asked for after
    another sweep with that fitted; NaN where that was not looked at.
    """

    best: float
    left_alone: float
    parallel: float
    tape: float
    first: float
    promised: float
    second: float


def outcomes(kind: Kind, work: Work, count: int, *, again: bool) -> list[Outcome]:
    """Let so many cars of a kind through the garage, `again` with a second sweep.

    Fewer cars are the first of more.
    """
    seeds = [SEED, *kind.name.encode(), *work.name.encode()]
    cars = islice(_cars(kind, work, np.random.default_rng(seeds)), count)
    return [
        _outcome(kind, car, np.random.default_rng([*seeds, number]), again=again)
        for number, car in enumerate(cars)
    ]


def _cars(kind: Kind, work: Work, rng: np.random.Generator) -> Iterator[Evaluator]:
    """Cars as measured, of those for which the tape asks for as much as the work says."""
    least, most = work.asked
    while True:
        evaluator = Evaluator.of(_case(kind, work, rng))
        settings, row = space_of(evaluator.case).settings, _best_row(evaluator)
        asked = settings.outer_drop[row] + settings.rack_raise[row]
        if least <= asked <= most:
            yield evaluator


def _case(kind: Kind, work: Work, rng: np.random.Generator) -> Case:
    stack = {"min": 0.0, "max": TALLEST_MM, "step": 1.0}
    return invented_case(kind, spread_points(kind, rng), rng, stack, work.spacers)


def spread_points(kind: Kind, rng: np.random.Generator) -> dict[str, Array]:
    """Points of a car about those that are usual for its kind."""
    return {
        name: np.array(point) + SPREAD_MM * rng.normal(size=3)
        for name, point in kind.points.items()
    }


def invented_case(
    kind: Kind,
    points: dict[str, Array],
    rng: np.random.Generator,
    stack: dict[str, float],
    spacers: tuple[float, ...] = (0.0,),
) -> Case:
    """A car with such points, lowered by something."""
    return Case.model_validate(
        {
            "format": 1,
            "name": "A car in the garage",
            "units": "mm",
            "layout": kind.layout,
            "points": {name: point.tolist() for name, point in points.items()},
            "wheel": {
                "camber_deg": float(rng.uniform(-2.0, 0.0)),
                "tire_radius": kind.tire_radius,
            },
            "ride": {
                "lowered_by": float(rng.uniform(*LOWERED_MM)),
                "bump": STROKE_MM,
                "droop": STROKE_MM,
            },
            "outer_pivot": {"stack": stack},
            "rack": {"spacers": spacers},
        }
    )


def _outcome(kind: Kind, tape: Evaluator, rng: np.random.Generator, *, again: bool) -> Outcome:
    true = true_car(tape, rng)
    space = space_of(tape.case)
    peaks = np.degrees(np.abs(true.toe_change(space.settings)).max(axis=1))
    sweeps = [two_dial_sweep(true, rng)]
    first = _next(tape, sweeps)
    second = float("nan")
    if again:
        sweeps.append(two_dial_sweep(true, rng, first.outer_drop_mm, first.rack_raise_mm))
        second = float(peaks[_row(space, _next(tape, sweeps))])
    return Outcome(
        best=float(peaks.min()),
        left_alone=float(peaks[space.left]),
        parallel=float(peaks[_stack_row(space, parallel_to_lower_arm(kind, tape))]),
        tape=float(peaks[_best_row(tape)]),
        first=float(peaks[_row(space, first)]),
        promised=first.peak_toe_change_95_deg,
        second=second,
    )


def _next(tape: Evaluator, sweeps: list[Readings]) -> NextSetting:
    answer = gauge(Vehicle((tape.case,)), sweeps).wheels[0].next
    assert answer is not None
    return answer


def _best_row(evaluator: Evaluator) -> int:
    change = evaluator.toe_change(space_of(evaluator.case).settings)
    return int(np.argmin(np.abs(change).max(axis=1)))


def _row(space: Space, asked: NextSetting) -> int:
    settings = space.settings
    same = (settings.outer_drop == asked.outer_drop_mm) & (
        settings.rack_raise == asked.rack_raise_mm
    )
    return int(np.flatnonzero(same)[0])


def _stack_row(space: Space, height: float) -> int:
    """Row of the stack that is nearest to a height, the rack left where it is."""
    away = np.abs(space.settings.outer_drop - height)
    return int(np.argmin(np.where(space.settings.rack_raise == 0.0, away, np.inf)))


def parallel_to_lower_arm(kind: Kind, tape: Evaluator) -> float:
    """Stack that lays the rod parallel to the lower arm, seen from the front at ride height. [mm].

    The arm is seen from its ball joint to the point of its chassis axis straight abreast of it, a
    link from end to end.
    """
    motion = tape.motion(Settings.single(), np.zeros(1))
    *chassis, joint = (np.array(tape.corner.points[name]) for name in kind.lower_arm)
    joint = motion.moved(joint)[0, 0]
    outer = motion.moved(tape.corner.outer_seat)[0, 0]
    share = (joint[0] - chassis[-1][0]) / (chassis[0][0] - chassis[-1][0]) if chassis[1:] else 0.0
    abreast = chassis[-1] + share * (chassis[0] - chassis[-1])
    rise = (joint[2] - abreast[2]) / (joint[1] - abreast[1])
    inner = tape.corner.inner
    wanted = inner[2] + rise * (outer[1] - inner[1])
    return float(np.clip(outer[2] - wanted, 0.0, TALLEST_MM))


def two_dial_sweep(
    true: Evaluator, rng: np.random.Generator, outer_drop: float = 0.0, rack_raise: float = 0.0
) -> Readings:
    """Readings that a plate and two dials give of the true car with some parts fitted."""
    motion = true.motion(Settings.single(outer_drop, rack_raise), SWEPT_MM)
    center = true.corner.points["wheel_center"]
    stations = center[0] + SPACING_MM * np.array([0.5, -0.5])
    dials = dial_places(motion, plate(center, true.corner.spin), stations, center[2])[0]
    dials = dials + DIAL_NOISE_MM * rng.normal(size=dials.shape)
    return Readings.model_validate(
        {
            "format": 1,
            "units": "mm",
            "kind": "two-dial",
            "spacing": SPACING_MM,
            "reading_grows": "outboard",
            "outer_drop": outer_drop,
            "rack_raise": rack_raise,
            "readings": np.column_stack([SWEPT_MM, dials]).tolist(),
        }
    )


def plate(center: Array, spin: Array, outboard: float = 40.0) -> list[Array]:
    """Three points of a plate on the hub, square to the axle."""
    across = np.cross(spin, [0.0, 0.0, 1.0])
    along = np.cross(spin, across)
    middle = center + outboard * spin
    return [middle, middle + 100.0 * across, middle + 100.0 * along]


def dial_places(motion: Motion, points: list[Array], x: Array, z: float) -> Array:
    """Where dials at (x, z), which point across the car, meet a plate; (..., D) of x (D,). [mm].

    The plate is carried as three points, and met by lines as the plane through them, so nothing
    here knows of toe.
    """
    first, second, third = (motion.moved(point) for point in points)
    square = np.cross(second - first, third - first)
    beside, above = x - first[..., 0, None], z - first[..., 2, None]
    leaning = square[..., 0, None] * beside + square[..., 2, None] * above
    places: Array = first[..., 1, None] - leaning / square[..., 1, None]
    return places
