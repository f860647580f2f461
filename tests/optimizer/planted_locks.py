"""Extreme cars whose steering jams on the way to full lock, and how far it goes by small steps."""

from dataclasses import dataclass, replace

import numpy as np

from optimizer.models.case import Case
from tests.geometry.corners import Array
from tests.geometry.extreme_cars import Places, extreme_places

STROKE_MM = 8.0  # of the wheel, up and down
FARTHEST_MM = 95.0  # rack travel that is looked at
# Of `extreme_places(layout, 30, seed=50, each=1)`: each jams between 6 and 90 mm of rack.
JAMMING = {
    "double-wishbone": [1, 2, 7, 26],
    "strut": [0, 2, 4, 13],
    "twin-link-strut": [1, 5, 9, 22],
    "five-link": [3, 9, 10, 29],
    "beam-axle": [0, 4, 5, 14],
}


@dataclass(frozen=True)
class LockedCar:
    """A car as measured, at its ride height."""

    place: Places

    @staticmethod
    def drawn(layout: str, row: int) -> "LockedCar":
        (car,) = extreme_places(layout, 30, seed=50, each=1).rows(np.array([row])).cars
        as_joined = float(np.linalg.norm(car.outer - car.inner))
        home = np.zeros(1)
        return LockedCar(
            Places(layout, [replace(car, drop=0.0, length=as_joined)], home, home, home)
        )

    def case(self, rack_travel: float) -> Case:
        """The same car as a case that asks for a lock."""
        car, layout = self.place.cars[0], self.place.layout
        rod = "drag_link" if layout == "beam-axle" else "tie_rod"
        points = {**car.points, f"{rod}_outer": car.outer, f"{rod}_inner": car.inner}
        table = {
            "format": 1,
            "name": "A car that jams",
            "units": "mm",
            "layout": layout,
            "points": {name: point.tolist() for name, point in points.items()},
            "wheel": {"toe_deg": 0.0, "camber_deg": 0.0, "tire_radius": 320.0},
            "ride": {"lowered_by": 0.0, "bump": STROKE_MM, "droop": STROKE_MM},
            "steering": {"rack_travel": rack_travel},
            "outer_pivot": {"stack": {"min": 0.0, "max": 1.0, "step": 1.0}},
        }
        return Case.model_validate(table)

    def goes(self, travel: Array, sense: Array) -> Array:
        """How far the rack goes to a side (P,) at a wheel travel (P,). [mm]"""
        some = self.place.rows(np.zeros(len(travel), dtype=int))
        far = replace(some, travel=travel, rack=sense * FARTHEST_MM)
        return np.abs(far.by_small_steps(rack_first=False).rack)

    def goes_everywhere(self) -> float:
        """How far the rack goes at either end of the stroke and at ride height, either way. [mm]"""
        travel = np.repeat([-STROKE_MM, 0.0, STROKE_MM], 2)
        return float(self.goes(travel, np.tile([-1.0, 1.0], 3)).min())
