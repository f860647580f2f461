"""Demo cars with an alignment asked for, and the same cars moved for SciPy."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np

from optimizer.car.alignment import alignment_of
from optimizer.models.case import Case

from .command_line import CASES
from .rigid_car import RigidCar

STRUT, EXTENDED, WISHBONE, LINKED = (
    CASES / f"{name}.toml"
    for name in ("lowered-strut", "extended-strut", "track-wishbone", "tension-link-strut")
)
BOLT = (-20.0, 660.0, 350.0)

WISHES = [
    (STRUT, {"by": "strut-top", "camber_deg": -2.5, "caster_deg": 4.5}),
    (STRUT, {"by": "strut-top", "camber_deg": -0.5}),
    (STRUT, {"by": "strut-top", "caster_deg": 5.0}),
    (STRUT, {"by": "strut-bolts", "camber_deg": -2.5, "bolt": BOLT}),
    (STRUT, {"by": "lower-arm", "camber_deg": -2.0, "caster_deg": 4.0}),
    (EXTENDED, {"by": "strut-top", "camber_deg": -3.0, "caster_deg": 5.0}),
    (EXTENDED, {"by": "strut-bolts", "camber_deg": -3.0, "bolt": BOLT}),
    (EXTENDED, {"by": "lower-arm", "camber_deg": -2.5}),
    (WISHBONE, {"by": "upper-arm", "camber_deg": -2.0, "caster_deg": 5.5}),
    (WISHBONE, {"by": "upper-arm", "camber_deg": -3.5}),
    (WISHBONE, {"by": "upper-arm", "caster_deg": 5.0}),
    (WISHBONE, {"by": "lower-arm", "camber_deg": -2.5, "caster_deg": 4.5}),
    (LINKED, {"by": "strut-top", "camber_deg": -2.0, "caster_deg": 6.5}),
    (LINKED, {"by": "strut-bolts", "camber_deg": -2.0, "bolt": BOLT}),
]
NAMES = [f"{path.stem}-{'-'.join(map(str, wish.values()))}" for path, wish in WISHES]


def wishing(path: Path, wish: dict[str, Any], **ride: float) -> Case:
    """A demo car with an alignment asked for, and perhaps another ride height."""
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    table["alignment"] = wish
    table["ride"] |= ride
    return Case.model_validate(table)


def measured(case: Case) -> Case:
    return case.model_copy(update={"alignment": None})


def moved_car(case: Case) -> RigidCar:
    """The same car for SciPy, moved by what the program says must be moved."""
    answer = alignment_of(case)[1]
    return RigidCar(
        points={name: np.array(point) for name, point in case.points.model_dump().items()},
        toe_deg=case.wheel.toe_deg,
        camber_deg=case.wheel.camber_deg,
        moved={part.point: np.array(part.by_mm) for part in answer.moved},
        turn_deg=answer.turn_deg or 0.0,
        bolt=np.array(case.alignment.bolt or (0.0, 0.0, 0.0)),
        drop=case.lower_ball_joint.drop[0],
    )


def static_toe_deg(case: Case) -> float:
    return case.wheel.toe_deg if case.ride.toe_deg is None else case.ride.toe_deg
