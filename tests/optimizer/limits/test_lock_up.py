"""Where the steering jams, held against linkages led in small steps by a solver of the tests."""

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.limits.followed import Follow
from optimizer.limits.margins import Margin, margins
from tests.optimizer.planted_locks import JAMMING, LockedCar

AS_IS = Settings.single()
BEYOND_MM = 8.0  # by which the lock that is asked for exceeds what is reached
SHORT_MM = 2.0
TOLD_TO_MM = 0.05  # of rack travel; no more than what is reached
CARS = [
    pytest.param(layout, row, marks=[pytest.mark.slow] if layout == "beam-axle" and k else [])
    for layout, rows in JAMMING.items()
    for k, row in enumerate(rows)
]


def locks(
    car: LockedCar, rack_travel: float, follow: Follow = "broken"
) -> tuple[Margin, list[Margin]]:
    """The linkage's reach, and how far the rack goes for each rod."""
    found = margins(Evaluator.of(car.case(rack_travel)), AS_IS, follow=follow)
    (reach,) = (one for one in found if one.kind == "reach")
    return reach, [one for one in found if one.kind == "lock"]


@pytest.mark.parametrize(("layout", "row"), CARS)
def test_a_lock_beyond_a_dead_center_is_refused_there_and_one_before_it_is_not(layout, row):
    car = LockedCar.drawn(layout, row)
    free = car.goes_everywhere()

    reach, found = locks(car, free + BEYOND_MM)
    assert reach.margin[0] > 0.0  # the linkage follows; it is the rod that jams
    jam = min(found, key=lambda one: float(one.margin[0]))
    assert jam.margin[0] < 0.0
    (reached,) = car.goes(jam.travel, np.sign(jam.rack_travel))
    assert reached - TOLD_TO_MM <= jam.value[0] <= min(reached, free)  # nowhere does it go less far
    reach, named = locks(car, free + BEYOND_MM, "named")
    assert reach.margin[0] > 0.0
    assert [one.name for one in named if one.margin[0] < 0.0] == [jam.name]

    reach, found = locks(car, free - SHORT_MM)
    assert min(float(one.margin[0]) for one in (reach, *found)) > 0.0
