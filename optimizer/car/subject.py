"""The car that an answer is about, and how its owner reads figures."""

from collections.abc import Iterable

import numpy as np

from optimizer.models.case import Case
from optimizer.models.quantities import Triple
from optimizer.models.setting import LinkageFitted
from optimizer.models.subject import StudWay, Subject
from optimizer.models.vehicle import Vehicle
from optimizer.units import Side

UPRIGHT_SHARE = 0.5  # of a stud's axis that must be vertical for "up" and "down"


def subject_of(vehicle: Vehicle) -> Subject:
    """Name the car that is answered for, and the units that its owner reads."""
    case = vehicle.case
    return Subject(
        name=case.name,
        layout=case.layout,
        axle=case.car.axle,
        steering_kind=case.steering_kind,
        sides=[one.side for one in vehicle.wheels],
        units=case.units,
        toe_unit=case.display.toe_unit,
        toe_diameter_mm=case.toe_diameter,
        dialect=case.display.words,
        moves_along=abs(case.steering.rack_axis[0]) > abs(case.steering.rack_axis[1]),
        stud=_way_of_all(stud_way(one) for one in vehicle.wheels),
        joint=_way_of_all(way_along(one.lower_ball_joint.stud_axis) for one in vehicle.wheels),
        linkage_now=linkage_now(vehicle),
    )


def linkage_now(vehicle: Vehicle) -> dict[Side, LinkageFitted]:
    """What the linkage of each wheel has now."""
    return {one.side: LinkageFitted(**one.linkage_choices[0].named) for one in vehicle.wheels}


def stud_way(case: Case) -> StudWay:
    """Which way a stack takes a wheel's outer pivot."""
    return way_along(case.outer_pivot.stud_axis)


def way_along(axis: Triple) -> StudWay:
    """Which way a stud points."""
    upright = axis[2] / float(np.linalg.norm(axis))
    if abs(upright) < UPRIGHT_SHARE:
        return "level"
    return "up" if upright > 0.0 else "down"


def _way_of_all(ways: Iterable[StudWay]) -> StudWay:
    first, *others = set(ways)
    return "level" if others else first
