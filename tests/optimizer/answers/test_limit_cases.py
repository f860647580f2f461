"""Invented cars near what their linkages can do: the assembly that continues, and where it ends.

The values are those of independent path-following in small steps, as noted with the cars.
"""

from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.suggest import suggest
from optimizer.files.case_file import read_car, read_case
from optimizer.models.curve import CurveRequest
from tests.optimizer.one_wheel import curve_of

CASES = Path(__file__).parents[2] / "limit-cases"
NOTED_DEG = 0.05


@pytest.mark.parametrize(
    ("name", "rack_travel", "toe_deg"),
    [
        ("mirrored-wishbone", 80.0, +33.8),
        ("mirrored-wishbone", 90.0, +37.9),
        ("refused-though-reachable", -36.0, -30.7),
    ],
)
def test_toe_at_ride_height_is_that_of_the_assembly_that_continues(name, rack_travel, toe_deg):
    told = curve_of(read_case(CASES / f"{name}.toml"), CurveRequest(rack_travel=rack_travel))
    home = np.argmin(np.abs(told.travel_mm))
    assert told.travel_mm[home] == 0.0
    assert told.toe_deg[home] == pytest.approx(toe_deg, rel=0.0, abs=NOTED_DEG)


def test_steering_that_jams_before_its_lock_does_not_fit_and_says_where():
    car = read_car(CASES / "locks-before-lock.toml")
    answer = suggest(car)
    assert answer.first is None
    for row in answer.ranked:
        (jam,) = (stop for stop in row.wheels[0].reasons if stop.kind == "lock")
        assert 0.0 < jam.value < car.case.steering.rack_travel
        assert jam.limit == car.case.steering.rack_travel
