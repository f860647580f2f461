"""A garage that finishes in one visit: what each reading beside the sweep is worth.

Cars as in `garage`, some with the outer pivot far too high, so that the tape asks for up to 35 mm.
One sweep; then the rod is turned while toe is reset; then camber is read; then three heights with
the first stack fitted.  After each, the stack that is asked for is judged on the true car, beside
how near the best any choice could be expected to come with no more than was read.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, islice

import numpy as np

from geometry.vectors import Array, turned
from geometry.wheel_angles import camber_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped, sampled_motion
from optimizer.car.settings import Settings
from optimizer.gauging.fit import fitted_points
from optimizer.gauging.loop import gauge
from optimizer.gauging.next_stack import possible_cars, sampled_peaks
from optimizer.gauging.wheel import swept_wheels
from optimizer.models.case import Case
from optimizer.models.gauge import NextSetting
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import space_of

from .garage import (
    DIAL_NOISE_MM,
    SPACING_MM,
    STROKE_MM,
    SWEPT_MM,
    dial_places,
    invented_case,
    plate,
    spread_points,
)
from .garage_cars import Kind
from .sweeps import true_car

SEED = 13
GROUPS = ((0.0, 10.0), (10.0, 20.0), (20.0, 35.0))  # of the correction, either way [mm]
STACK = {"min": -20.0, "max": 40.0, "step": 1.0}
HIGHER_MM = (-12.0, 35.0)  # of the outer pivot, from a kind's usual place
TURNS, PITCH_MM, TURNS_NOISE = 2.0, 1.5, 0.015
CAMBER_NOISE_DEG = 0.05
STAGES = ("sweep", "rod", "camber", "stack")
NEAR_DEG, NEARER_DEG = 0.03, 0.01


@dataclass(frozen=True)
class Visit:
    """The best peak of the hardware, and after each stage the peak of the stack asked for. [deg].

    What ends in `_bound` is the 95 % bound that was promised of it; `asked` is the correction that
    the tape asks for. [mm]  What ends in `_near` and `_nearer` is the greatest probability with
    which any one stack is within 0.03 and 0.01 deg of the best, over the cars that the readings
    leave possible: no choice made of them can be expected to do better.
    """

    asked: float
    best: float
    sweep: float
    rod: float
    camber: float
    stack: float
    sweep_bound: float
    rod_bound: float
    camber_bound: float
    stack_bound: float
    sweep_near: float
    rod_near: float
    camber_near: float
    stack_near: float
    sweep_nearer: float
    rod_nearer: float
    camber_nearer: float
    stack_nearer: float


def visits(kind: Kind, group: tuple[float, float], count: int) -> list[Visit]:
    """Let so many cars of a kind, with a correction of a group, come for one visit each."""
    seeds = [SEED, *kind.name.encode(), int(group[0])]
    cars = islice(_cars(kind, group, np.random.default_rng(seeds)), count)
    return [_visit(*car, np.random.default_rng([*seeds, k])) for k, car in enumerate(cars)]


def _cars(
    kind: Kind, group: tuple[float, float], rng: np.random.Generator
) -> Iterator[tuple[Evaluator, float]]:
    while True:
        tape = Evaluator.of(_case(kind, rng))
        settings = space_of(tape.case).settings
        peaks = np.abs(tape.toe_change(settings)).max(axis=1)
        asked = float(settings.outer_drop[int(np.argmin(peaks))])
        if group[0] <= abs(asked) <= group[1]:
            yield tape, asked


def _case(kind: Kind, rng: np.random.Generator) -> Case:
    points = spread_points(kind, rng)
    points["tie_rod_outer"] += [0.0, 0.0, rng.uniform(*HIGHER_MM)]
    return invented_case(kind, points, rng, STACK)


def _visit(tape: Evaluator, asked: float, rng: np.random.Generator) -> Visit:
    true = true_car(tape, rng)
    settings = space_of(tape.case).settings
    peaks = np.degrees(np.abs(true.toe_change(settings)).max(axis=1))
    read = _Read(true, rng)
    sweep = read.sweep()
    rod = sweep | {"rod_turned": [read.rod_turned()]}
    camber = rod | {"camber": read.camber()}
    typed = [[one] for one in (sweep, rod, camber)]
    found = [_next(tape, files) for files in typed]
    then = read.sweep(found[-1].outer_drop_mm, np.array([-STROKE_MM, 0.0, STROKE_MM]))
    typed.append([camber, then])
    found.append(_next(tape, typed[-1]))
    heights = settings.outer_drop.tolist()
    near, nearer = zip(*(_most(tape, files) for files in typed), strict=True)
    return Visit(
        asked,
        float(peaks.min()),
        *(float(peaks[heights.index(one.outer_drop_mm)]) for one in found),
        *(one.peak_toe_change_95_deg for one in found),
        *near,
        *nearer,
    )


def _next(tape: Evaluator, files: list[dict[str, object]]) -> NextSetting:
    found = gauge(Vehicle((tape.case,)), _typed(files)).wheels[0].next
    assert found is not None
    return found


def _most(tape: Evaluator, files: list[dict[str, object]]) -> tuple[float, float]:
    """With what probability the likeliest stack is as near as 0.03 and 0.01 deg to the best."""
    (wheel,) = swept_wheels(Vehicle((tape.case,)), _typed(files))
    seen = [one.observations(tape) for one in wheel.sweeps]
    cars = possible_cars(tape, fitted_points(tape, [*chain(*seen)]), SEED)
    peaks = np.degrees(sampled_peaks(tape, cars, space_of(tape.case).settings))
    lost = peaks - peaks.min(axis=0)
    near, nearer = (float((lost <= most).mean(axis=1).max()) for most in (NEAR_DEG, NEARER_DEG))
    return near, nearer


def _typed(files: list[dict[str, object]]) -> list[Readings]:
    return [Readings.model_validate(one) for one in files]


@dataclass(frozen=True)
class _Read:
    """What is read of a true car; dials meet a plate, so nothing of toe is known to them."""

    true: Evaluator
    rng: np.random.Generator

    def sweep(self, drop: float = 0.0, travel: Array = SWEPT_MM) -> dict[str, object]:
        """Two dials over the travel, with a stack fitted."""
        dials = self._dials(Settings.single(drop), travel)
        return {
            "format": 1,
            "units": "mm",
            "kind": "two-dial",
            "spacing": SPACING_MM,
            "reading_grows": "outboard",
            "noise": DIAL_NOISE_MM,
            "outer_drop": drop,
            "rack_raise": 0.0,
            "readings": np.column_stack([travel, dials]).tolist(),
        }

    def rod_turned(self) -> dict[str, object]:
        """The two turns that bring toe to where it was swept; they are counted nearly right."""
        turned_by = (TURNS + TURNS_NOISE * self.rng.normal()) * PITCH_MM
        before, after = (self._dials(longer=x)[0].tolist() for x in (-turned_by, 0.0))
        said = {"turns": TURNS, "pitch": PITCH_MM, "turns_noise": TURNS_NOISE, "reset": True}
        return said | {"before": before, "after": after}

    def camber(self) -> dict[str, object]:
        """A gauge on the rim at the heights of the sweep."""
        motion = sampled_motion(self.true, as_taped(self.true), Settings.single(), SWEPT_MM)
        angle = np.degrees(camber_angle(turned(motion.rotation, self.true.corner.spin)))[0]
        angle = angle + CAMBER_NOISE_DEG * self.rng.normal(size=angle.shape)
        rows = np.column_stack([SWEPT_MM, angle]).tolist()
        return {"readings": rows, "noise_deg": CAMBER_NOISE_DEG}

    def _dials(
        self, setting: Settings | None = None, travel: Array | None = None, longer: float = 0.0
    ) -> Array:
        true, center = self.true, self.true.corner.points["wheel_center"]
        motion = sampled_motion(
            true,
            as_taped(true),
            Settings.single() if setting is None else setting,
            np.zeros(1) if travel is None else travel,
            longer=longer,
        )
        stations = center[0] + SPACING_MM * np.array([0.5, -0.5])
        places = dial_places(motion, plate(center, true.corner.spin), stations, center[2])[0]
        noisy: Array = places + DIAL_NOISE_MM * self.rng.normal(size=places.shape)
        return noisy
