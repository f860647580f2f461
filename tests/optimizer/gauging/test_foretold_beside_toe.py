"""What readings beside toe will tell, before any is taken, on frozen linkages."""

import numpy as np
import pytest
from msgspec.structs import replace

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.gauging.fit import foretold_rates, linearized
from optimizer.gauging.observation import Observation, camber, sideways, toe
from optimizer.models.case import Case
from tests.geometry.printed import numbers, published

from .read_beside import (
    TRAVEL,
)

# Greatest standard deviation of the toe change over 50 mm either way with a 20 mm stack, to first
# order, points known to 2 mm and dials to 0.03 mm at 500 mm: computed elsewhere, by another model
# of the same linkages, each row of a sweep taken for a difference from ride height.  [deg]
FROZEN = ("double_wishbone", "strut", "five_link")
FORETOLD_DEG = {
    "nothing": (0.0345, 0.0211, 0.0360),
    "the same sweep twice more": (0.0343, 0.0206, 0.0358),
    "rod length": (0.0338, 0.0210, 0.0356),
    "sideways movement": (0.0314, 0.0211, 0.0338),
    "camber": (0.0282, 0.0209, 0.0313),
    "steering arm": (0.0245, 0.0111, None),
    "steer angles": (0.0224, 0.0091, 0.0216),
    "rod turned": (0.0233, 0.0103, 0.0225),
    "rod turned once, and camber": (0.0191, 0.0150, 0.0202),
    "three rows with the stack": (0.0044, 0.0041, 0.0044),
}
DIALS_MM = 0.03  # of a difference of two means, each of two dials
DIALS = DIALS_MM / 500.0
TURNED = float(np.hypot(DIALS, 0.02 / 130.0))  # a length known to 0.02 mm on an arm of 130 mm
FIRST = Settings.single()


def seen(eye, noise, fitted=FIRST, **places):
    (size,) = {len(place) for place in places.values()}
    places = {name: np.array(place, dtype=float) for name, place in places.items()}
    return Observation.of(eye, fitted, np.zeros(size), noise, **places)


def differences(travel, fitted=FIRST):
    """Rows as differences from ride height, each with the noise of two."""
    return replace(seen(toe, DIALS * 2.0**0.5, fitted, travel=travel), zero=False)


def moved(eye):
    """How far sideways, as differences from ride height, by the mean of two dials."""
    rows = seen(eye, DIALS_MM, travel=[height for height in TRAVEL if height])
    return replace(rows, zero=False)


def center_sideways(corner, motion):
    return motion.moved(corner.points["wheel_center"])[..., 1]


def dial_from_home(corner, motion):
    place = sideways(0.0)(corner, motion)
    return place - place[..., -1:]


def known(eye, noise):
    return replace(seen(eye, noise, travel=[0.0]), zero=False)


def steering_arm(corner, motion):
    """Distance of the outer pivot from the steering axis. [mm]."""
    low, top = corner.points["lower_ball_joint"], motion.steering_axis
    away = motion.moved(corner.outer_seat) - motion.moved(low)
    along = (away * top).sum(axis=-1, keepdims=True) * top
    return np.linalg.norm(away - along, axis=-1)


SWEEP = differences([height for height in TRAVEL if height])
CAMBER = seen(camber, np.radians(0.05), travel=TRAVEL)
TOLD_BY = {
    "nothing": [],
    "rod length": [],
    "sideways movement": [moved(center_sideways)],
    "steering arm": [known(steering_arm, 1.0)],
    "the same sweep twice more": [SWEEP, SWEEP],
    "camber": [CAMBER],
    "steer angles": [seen(toe, np.radians(0.1), rack=[-50.0, -25.0, 25.0, 50.0])],
    "rod turned": [seen(toe, [TURNED, DIALS, TURNED], longer=[-3.0, 0.0, 3.0])],
    "rod turned once, and camber": [CAMBER, seen(toe, [DIALS, TURNED], longer=[0.0, 1.5])],
    "three rows with the stack": [differences([-50.0, 50.0], Settings.single(20.0))],
}


@pytest.mark.parametrize("reading", FORETOLD_DEG)
def test_what_a_reading_will_tell_is_foretold_as_elsewhere(reading):
    for name, expected in zip(FROZEN, FORETOLD_DEG[reading], strict=True):
        if expected is not None:
            tape = frozen(name, rod_length=reading == "rod length")
            assert left_open_deg(tape, TOLD_BY[reading]) == pytest.approx(expected, rel=0.10)


@pytest.mark.parametrize("name", FROZEN)
def test_a_dial_tells_more_than_where_the_center_goes_for_it_sees_camber_too(name):
    tape = frozen(name)
    center, dial = (left_open_deg(tape, [moved(x)]) for x in (center_sideways, dial_from_home))
    assert dial < center


def frozen(name, *, rod_length=False):
    """One of three linkages of `tests/published`; its rod perhaps measured to 0.5 mm."""
    table = published("corner_anchors")[name]
    points = {point: numbers(place).tolist() for point, place in table["points"].items()}
    rod = ("tie_rod_inner", "tie_rod_outer")
    length = float(np.linalg.norm(np.subtract(*(points[end] for end in rod))))
    case = {
        "format": 1,
        "name": name,
        "units": "mm",
        "layout": table["layout"],
        "points": points,
        "wheel": {"tire_radius": 300.0},
        "ride": {"bump": 50.0, "droop": 50.0},
        "measured": [{"between": rod, "length": length, "accuracy": 0.5}] if rod_length else [],
    }
    return Evaluator.of(Case.model_validate(case))


def left_open_deg(tape, told_by):
    """Greatest standard deviation of the toe change with a 20 mm stack, after a sweep and more."""
    size = 3 * len(point_names(tape.corner))
    rates, _ = linearized(tape, [SWEEP, *told_by], np.zeros(size))
    covariance = np.linalg.inv(rates.T @ rates + np.eye(size))
    asked = seen(toe, 1.0, Settings.single(20.0), travel=TRAVEL)
    ((_, by_point),) = foretold_rates(tape, [asked], np.zeros(size))
    by_point = by_point - by_point[5]  # from ride height
    variance = np.einsum("tj,jk,tk->t", by_point, covariance, by_point)
    return float(np.degrees(np.sqrt(variance.max())))
