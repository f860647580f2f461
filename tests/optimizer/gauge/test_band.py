"""Readings against a band that a maker or a team wants, zero or not."""

import numpy as np
import pytest

from optimizer.gauge.band import beyond_band, judged_by_band, keeps_band, wanted_aim
from optimizer.gauge.loop import gauge
from optimizer.gauge.measured import measured_curve
from optimizer.models.readings import ReadingsAim

from .sweeps import angles

ANGLE_ATOL_DEG = 1e-9
TRAVEL = np.arange(-50.0, 51.0, 10.0)
BAND = ((-50.0, 0.0, 0.2), (0.0, -0.05, 0.05), (50.0, -0.2, 0.0))


def test_between_its_rows_a_band_is_straight_and_beyond_its_ends_it_says_nothing():
    change = np.array([0.3, 0.2, 0.06, -0.2, -0.15, 0.0])
    travel = np.array([-50.0, -25.0, 0.0, 25.0, 50.0, 51.0])
    expected = [0.1, 0.075, 0.01, -0.075, 0.0, np.nan]
    found = beyond_band(BAND, travel, change)
    assert found == pytest.approx(expected, abs=ANGLE_ATOL_DEG, nan_ok=True)
    assert not keeps_band(BAND, travel, change)
    assert keeps_band(BAND, travel, np.array([0.1, 0.05, 0.0, -0.05, -0.1, 9.0]))


@pytest.mark.parametrize(
    ("slope", "square", "told"),
    [
        (-0.002, 0.0, "Inside the wanted band at all 11 readings that it covers."),
        (
            +0.002,
            1e-5,
            "Outside the wanted band at 8 of 11 readings, most at travel 50 mm: 0.125 deg more "
            "toe-in than it allows.",
        ),
        (
            -0.006,
            -1e-5,
            "Outside the wanted band at 8 of 11 readings, most at travel 50 mm: 0.125 deg more "
            "toe-out than it allows.",
        ),
    ],
)
def test_readings_are_judged_row_by_row(slope, square, told):
    curve = measured_curve(TRAVEL, np.radians(slope * TRAVEL + square * TRAVEL**2))
    assert judged_by_band(BAND, curve, "mm") == told


def test_heights_that_the_band_does_not_cover_are_not_judged():
    curve = measured_curve(TRAVEL, np.radians(-0.002 * TRAVEL))
    far = ((60.0, -0.1, 0.1), (80.0, -0.1, 0.1))
    assert judged_by_band(far, curve, "mm").startswith("No reading lies at a height")


def test_a_band_s_middle_is_the_gain_to_aim_at_unless_one_is_stated():
    band = {"band": BAND, "tolerance_deg": 0.1}
    # The middle runs from +0.1 deg at 50 mm of droop to -0.1 deg at 50 mm of bump.
    assert wanted_aim(ReadingsAim(**band)).toe_gain_deg_per_10mm == pytest.approx(-0.02)
    stated = ReadingsAim(**band, toe_gain_deg_per_10mm=0.0)
    assert wanted_aim(stated).toe_gain_deg_per_10mm == 0.0
    assert wanted_aim(stated).tolerance_deg == 0.1
    assert wanted_aim(ReadingsAim()).toe_gain_deg_per_10mm == 0.0


def test_a_sweep_along_the_middle_of_its_band_is_as_wanted():
    rows = dict(zip(TRAVEL, -0.002 * TRAVEL, strict=True))
    answer = gauge(None, [angles(rows, aim={"band": BAND})])
    assert answer.measured.peak_toe_change_deg == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)
    assert any("Inside the wanted band" in text for text in answer.diagnosis)
