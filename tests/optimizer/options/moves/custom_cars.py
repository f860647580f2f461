"""Custom pivots of demo cars, for tests that look at them."""

import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from geometry.toe_curve import toe_change
from optimizer.answers.custom import custom_pivot
from optimizer.car.adjust import linkage_choice
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import car_from_toml, case_from_toml
from optimizer.models.case import Case
from optimizer.models.custom_pivot import CustomPivot, CustomWheel
from optimizer.models.kits import Kit
from optimizer.models.vehicle import Vehicle
from optimizer.options.dimensions import option_space
from optimizer.options.study.run import Progress, StudyPlan

CASES = Path(__file__).parents[4] / "cases"
TRIALS = 8  # enough: the fits and their refinement find what the study would
BOTH = (CASES / "two-sided-wishbone.toml").read_text()
ROOM_FOR_BOTH = "outer = { x = [-5.0, 5.0], y = [-8.0, 4.0], z = [-20.0, 5.0] }"


def custom_of(
    car: Case | Vehicle,
    kits: Sequence[Kit] = (),
    plan: StudyPlan | None = None,
    progress: Progress | None = None,
) -> CustomPivot:
    """The custom pivot of a car, or of its one wheel."""
    vehicle = car if isinstance(car, Vehicle) else Vehicle((car,))
    plan = StudyPlan(trials=TRIALS) if plan is None else plan
    return custom_pivot(option_space(vehicle, kits), plan, None, progress)


def wheel_of(pivot: CustomPivot) -> CustomWheel:
    """What is said of the only wheel that was measured."""
    (wheel,) = pivot.wheels
    return wheel


def both_wheels(room: str = ROOM_FOR_BOTH, text: str = BOTH) -> Vehicle:
    """The demo car of which both wheels were measured, with room for a pivot at each."""
    return car_from_toml(f"{text}\n[custom_pivot]\n{room}\n", "car")


def with_room(car: str, room: str) -> Case:
    """A demo car with another room."""
    text = (CASES / f"{car}.toml").read_text()
    (old,) = re.findall(r"\[custom_pivot\].*\n(.*)\n", text)
    return case_from_toml(text.replace(old, room), "car")


def settings_of(case: Case, wheel: CustomWheel, off: Sequence[float] = (0.0,) * 6) -> Settings:
    """The pivot of a left wheel, each coordinate off by so much. [mm]."""
    moves = np.zeros(6)
    moves[: len(wheel.coordinates)] = [told.move_mm for told in wheel.coordinates]
    moves += off
    return Settings(
        np.array([wheel.outer_drop_mm]),
        np.array([wheel.rack_raise_mm]),
        np.array([linkage_choice(case, dict(wheel))]),
        moves[None, :3],
        moves[None, 3:],
    )


def exact_peak_deg(case: Case, pivot: Settings) -> float:
    """Peak by the closed-form motion, which shares nothing with the toe-held scores."""
    evaluator = Evaluator.of(case)
    toe = evaluator.toe(pivot, evaluator.travel)
    return float(np.degrees(np.abs(toe_change(evaluator.travel, toe, evaluator.wanted)).max()))
