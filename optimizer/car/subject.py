"""The car that an answer is about, and how its owner reads figures."""

from optimizer.models.subject import Subject
from optimizer.models.vehicle import Vehicle


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
    )
