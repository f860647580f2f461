"""The wheel that an answer is about, and how its owner reads figures."""

from optimizer.car.adjust import side_of
from optimizer.models.case import Case
from optimizer.models.result import Subject


def subject_of(case: Case) -> Subject:
    """Name the wheel that a case is about, and the units that its owner reads."""
    diameter = case.display.diameter
    return Subject(
        name=case.name,
        layout=case.layout,
        axle=case.car.axle,
        steering_kind=case.steering_kind,
        side=side_of(case),
        units=case.units,
        toe_unit=case.display.toe_unit,
        toe_diameter_mm=2.0 * case.wheel.tire_radius if diameter is None else diameter,
    )
