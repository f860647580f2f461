"""Readers of one invented car, in either unit and with a drag link."""

from optimizer.models.subject import Subject
from optimizer.wording.reader import Reader

CAR = {"name": "car", "layout": "strut", "sides": ["left"], "toe_unit": "deg"}
MM = Reader(Subject(**CAR, units="mm", toe_diameter_mm=600.0))
INCHES = Reader(Subject(**CAR, units="in", toe_diameter_mm=609.6))
AXLE = Reader(Subject(**CAR | {"steering_kind": "drag-link"}, units="mm", toe_diameter_mm=600.0))
