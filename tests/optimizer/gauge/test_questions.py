"""What a readings file is asked about; clean sweeps are asked nothing."""

import numpy as np
import pytest

from optimizer.files.readings_file import read_readings
from optimizer.gauge.loop import gauge
from optimizer.gauge.questions import questions
from optimizer.gauge.swept import swept

from .sweeps import angles, readings

TRAVEL = np.arange(-40.0, 41.0, 10.0)


def asked(sweep):
    return questions(sweep, swept(sweep, None).curve, sweep.car.words)


def bent(travel, slope=-0.005, square=-2e-5):
    """Toe in degrees of a car that toes out in bump, lopsidedly."""
    return dict(zip(travel, slope * travel + square * travel**2, strict=True))


def two_dials(travel, toe_deg, **keys):
    difference = 500.0 * np.tan(np.radians(toe_deg))
    rows = np.column_stack([travel, -0.5 * difference, 0.5 * difference]).tolist()
    return readings("two-dial", rows, **keys)


def test_a_clean_sweep_is_asked_nothing(demo_sweep):
    assert asked(read_readings(demo_sweep)) == []


@pytest.mark.parametrize(
    ("sweep", "words"),
    [
        (angles(bent(TRAVEL, slope=-0.3)), 'minutes typed as degrees (angle_unit = "min")?'),
        (angles(bent(TRAVEL, slope=-0.3 * 60), angle_unit="min"), "are units and the gauge's"),
        (
            angles(bent(TRAVEL, slope=-0.005 / 60.0, square=0.0)),
            "only 12 seconds of arc: were minutes written down as seconds",
        ),
        (two_dials(TRAVEL, -0.15 * TRAVEL), "are units and the gauge's lengths right?"),
        (two_dials(TRAVEL, -0.005 * TRAVEL, spacing=250.0), "half of the distance between"),
        (
            two_dials(TRAVEL, -0.005 * TRAVEL, spacing=330.0, car={"tire_diameter": 650.0}),
            "was a radius taken for a diameter?",
        ),
        (
            two_dials(TRAVEL, -0.005 * TRAVEL, car={"tire_diameter": 600.0}),
            "at the tire every toe distance is 1.20 times what the gauge shows",
        ),
        (angles(bent(TRAVEL[TRAVEL != 0.0])), "No row is at ride height"),
        (angles(bent(TRAVEL + 60.0)), "Ride height lies outside"),
        (angles(bent(TRAVEL / 20.0)), "Travel reaches 2 mm from ride height: were inches typed"),
        (
            angles(bent(TRAVEL / 2.54, slope=-0.002, square=0.0), units="in"),
            "from ride height: were millimeters typed in a file of in?",
        ),
        (
            angles(bent(np.array([-40.0, -30.0, -20.0, 0.0, 10.0, 20.0, 30.0]))),
            "Travel steps by 10 mm, but from -20 mm to 0 mm: is a row missing",
        ),
        (
            angles(bent(np.array([-40.0, -30.0, -20.0, -10.0, 0.0, 10.0, 12.0, 30.0]))),
            "from 10 mm to 12 mm",
        ),
    ],
)
def test_what_looks_like_a_slip_is_asked_about(sweep, words):
    assert [text for text in asked(sweep) if words in text], asked(sweep)


def test_a_row_that_stands_apart_is_named_as_typed():
    toe = bent(TRAVEL)
    toe[20.0] += 0.2
    found = asked(angles(toe))
    assert len(found) == 1
    assert "readings[7] (travel 20 mm) stands apart from the others by 0.200 deg" in found[0]


def test_rows_too_few_to_tell_the_wrong_one_are_asked_about_together():
    sweep = readings("angle", [[-30.0, 0.1], [0.0, 0.0], [0.0, 1.0], [30.0, -0.1]])
    assert any("The rows scatter by 0.707 deg about one curve" in text for text in asked(sweep))


def test_minus_signs_lost_on_one_side_make_a_kink_at_ride_height():
    toe = {travel: abs(angle) for travel, angle in bent(TRAVEL, square=0.0).items()}
    assert any("did the minus signs get lost" in text for text in asked(angles(toe)))


def test_a_true_c_is_not_taken_for_lost_minus_signs():
    toe = bent(TRAVEL, slope=0.0, square=2e-4)
    assert not any("minus signs" in text for text in asked(angles(toe)))


def test_droop_typed_without_its_minus_sign_is_asked_about():
    sweep = readings("angle", [[abs(t), -0.005 * t] for t in range(40, -41, -10)])
    assert any("did the droop readings lose their minus sign?" in text for text in asked(sweep))


def test_up_and_down_strokes_that_differ_point_to_play():
    travel = np.concatenate([TRAVEL, TRAVEL[-2::-1]])
    toe = -0.005 * travel + np.where(np.arange(travel.size) < TRAVEL.size, 0.03, -0.03)
    found = asked(readings("angle", np.column_stack([travel, toe]).tolist()))
    assert any("Up and down strokes differ by 0.060 deg: look for play" in text for text in found)
    assert len(found) == 1


def test_heights_that_two_sweeps_miss_by_a_hair_are_the_same_height():
    travel = np.concatenate([TRAVEL, TRAVEL + 0.3])
    sweep = readings("angle", np.column_stack([travel, -0.005 * travel]).tolist())
    assert asked(sweep) == []


def test_turns_that_were_counted_are_told_and_a_count_that_may_be_wrong_is_asked_about():
    shown = np.mod(0.12 * TRAVEL, 10.0)
    rows = np.column_stack([TRAVEL, np.zeros(TRAVEL.size), shown]).tolist()
    found = asked(readings("two-dial", rows, revolution=10.0))
    assert any("were added to readings[5], readings[6]" in text for text in found)
    rows = np.column_stack([TRAVEL, np.zeros(TRAVEL.size), np.mod(0.42 * TRAVEL, 10.0)]).tolist()
    found = asked(readings("two-dial", rows, revolution=10.0))
    assert any("nearly half a turn" in text for text in found)


def test_a_gauge_that_also_sees_the_wheel_move_sideways_says_so_without_points():
    lone = readings("single-dial", [[t, 0.01 * t] for t in TRAVEL])
    target = readings("laser", [[t, 0.01 * t] for t in TRAVEL], target_behind=None)
    two = readings("laser", [[t, -0.01 * t, 0.01 * t] for t in TRAVEL])
    told = [" ".join(gauge(None, [sweep]).questions) for sweep in (lone, target, two)]
    assert "One dial on its own also sees the wheel move sideways" in told[0]
    assert "One target on its own" in told[1]
    assert "on its own" not in told[2]


def test_nothing_that_is_asked_about_is_corrected():
    half = two_dials(TRAVEL, -0.005 * TRAVEL, spacing=250.0)
    measured = gauge(None, [half]).measured
    assert measured.toe_deg == pytest.approx((-0.01 * TRAVEL).tolist(), abs=1e-4)


@pytest.mark.parametrize("step", [1.0, 0.01])
def test_a_sweep_in_small_steps_is_asked_nothing(step):
    travel = np.round(np.arange(-30.0, 30.0 + step / 2.0, step), 3)
    assert asked(angles(bent(travel))) == []
