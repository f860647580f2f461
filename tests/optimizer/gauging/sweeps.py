"""Readings files as tables, for tests to change a key or two of."""

from collections.abc import Iterable
from typing import Any, TypeVar

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.gauging.loop import gauge
from optimizer.models.answer import Fact
from optimizer.models.case import Case
from optimizer.models.gauge import WheelGauge
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle

Table = dict[str, Any]
Family = TypeVar("Family", bound=Fact)
SET_UPS: dict[str, Table] = {
    "two-dial": {"spacing": 500.0, "reading_grows": "outboard"},
    "dial-and-roller": {"spacing": 500.0, "reading_grows": "outboard", "dial_at": "rear"},
    "single-dial": {"dial_distance": 250.0, "reading_grows": "outboard", "dial_at": "rear"},
    "laser": {"target_ahead": 3000.0, "target_behind": 3000.0, "reading_grows": "outboard"},
    "mirror": {"target_distance": 3000.0, "reading_grows": "toe-in"},
    "string": {"spacing": 430.0, "reading_grows": "outboard"},
    "toe-plates": {"spacing": 600.0},
    "wall": {"wall_distance": 3000.0, "reading_grows": "forward"},
    "angle": {"reading_grows": "toe-in", "total": False},
}


def readings(kind: str, rows: list[list[float]], **keys: object) -> Readings:
    """Readings of one kind of gauge; a key set to None is left out."""
    seat = {"outer_drop": 0.0, "rack_raise": 0.0}
    head = {"format": 1, "units": "mm", "kind": kind, "readings": rows}
    table = {**head, **seat, **SET_UPS[kind], **keys}
    given = {key: value for key, value in table.items() if value is not None}
    return Readings.model_validate(given, context={"units": given["units"]})


def angles(toe_deg: dict[float, float], **keys: object) -> Readings:
    """A sweep that states toe in degrees at each travel."""
    return readings("angle", [[travel, toe] for travel, toe in toe_deg.items()], **keys)


def true_car(tape: Evaluator, seed: int | np.random.Generator = 1) -> Evaluator:
    """A car that the tape has missed by its accuracy."""
    errors = np.random.default_rng(seed).normal(size=(1, len(point_names(tape.corner)), 3))
    return tape.with_corner(moved_corner(tape, errors).row(0))


def as_swept(
    car: Evaluator, travel: Array, drop: float = 0.0, rack: float = 0.0, **keys: object
) -> Readings:
    """A sweep of a car with some parts fitted, in degrees and without any noise."""
    toe = np.degrees(car.toe(Settings.single(drop, rack), travel)[0])
    rows = dict(zip(travel.tolist(), toe.tolist(), strict=True))
    return angles(rows, **{"outer_drop": drop, "rack_raise": rack, "noise": 0.005, **keys})


def judged(
    case: Case | None, sweeps: list[Readings], *, seed: int = 0, stages: bool = False
) -> WheelGauge:
    """What `gauge` says of the wheel that it judges, the first one without a case."""
    vehicle = None if case is None else Vehicle((case,))
    wheel, *_ = gauge(vehicle, sweeps, seed=seed, stages=stages).wheels
    return wheel


def only(family: type[Family], facts: Iterable[Fact]) -> Family:
    """The one fact of a family."""
    (found,) = (fact for fact in facts if isinstance(fact, family))
    return found


def kind_of(family: type[Fact], facts: Iterable[Fact]) -> list[str]:
    """Kinds of the facts of a family."""
    return kinds(fact for fact in facts if isinstance(fact, family))


def kinds(facts: Iterable[Fact]) -> list[str]:
    """Kinds of facts, or the family where that has one kind alone."""
    return [getattr(fact, "kind", type(fact).__name__) for fact in facts]
