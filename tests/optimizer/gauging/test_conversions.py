"""Every kind of gauge: from what it shows to toe, and what a fixed one sees besides toe."""

import tomllib
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.motion import Motion
from geometry.vectors import rotation_about, turned
from geometry.wheel_angles import spin_axis, toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.files.case_file import read_case
from optimizer.gauging.conversions import gauge_of, reading_noise, toe_readings, wheel_travel
from optimizer.gauging.seen import contamination, seen_toe
from optimizer.models.gauge_kinds import COLUMNS

from .garage import dial_places, plate
from .sweeps import SET_UPS, readings

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
ROOT = Path(__file__).parents[3]
PUBLISHED = tomllib.loads(
    (ROOT / "tests" / "published" / "toe_units.toml").read_text(encoding="utf-8"),
    parse_float=Decimal,
)
TOTAL = [row for table in PUBLISHED["total"] for row in table["rows"]]
ONE_WHEEL = [row for table in PUBLISHED["one_wheel"] for row in table["rows"]]
CENTER = np.array([0.0, 760.0, 300.0])
SPIN = spin_axis(np.array(0.0), np.radians(-1.0))

angle = st.floats(-8.0, 8.0)
shift = st.floats(-60.0, 60.0)
pose = st.tuples(angle, angle, angle, shift, shift, shift)


def carried(poses):
    """Motion of an upright turned about x, y and z and shifted, one pose a row."""
    axes = np.eye(3)
    rotation = np.array(
        [
            rotation_about(axes[2], np.radians(toe))
            @ rotation_about(axes[0], np.radians(camber))
            @ rotation_about(axes[1], np.radians(caster))
            for toe, camber, caster, *_ in poses
        ]
    )
    shifts = np.array([shifts for _, _, _, *shifts in poses])
    none = np.zeros(len(poses), dtype=np.int8)
    return Motion(rotation, CENTER + shifts - rotation @ CENTER, np.zeros((len(poses), 3)), none)


def toe_of(motion):
    return np.degrees(toe_angle(turned(motion.rotation, SPIN)))


def half_last_digit(printed):
    return 0.5 * 10.0 ** Decimal(printed).as_tuple().exponent


@settings(max_examples=60, deadline=None)
@given(poses=st.lists(pose, min_size=3, max_size=6), spacing=st.floats(300.0, 800.0))
def test_two_dials_on_a_plate_give_spacing_times_tan_toe_whatever_camber_and_track_do(
    poses, spacing
):
    motion = carried(poses)
    dials = dial_places(motion, plate(CENTER, SPIN), spacing * np.array([0.5, -0.5]), CENTER[2])
    toe = toe_of(motion)
    difference = dials[:, 1] - dials[:, 0]
    np.testing.assert_allclose(difference, spacing * np.tan(np.radians(toe)), atol=LENGTH_ATOL_MM)
    rows = np.column_stack([np.arange(len(poses)) * 10.0, dials]).tolist()
    read = toe_readings(readings("two-dial", rows, spacing=spacing))
    np.testing.assert_allclose(np.degrees(read), toe, atol=ANGLE_ATOL_DEG, rtol=0.0)


def test_a_lone_dial_calls_sideways_movement_toe():
    motion = carried([(0.0, 0.0, 0.0, 0.0, y, 0.0) for y in (-5.0, 0.0, 5.0)])
    dials = dial_places(motion, plate(CENTER, SPIN), np.array([-250.0]), CENTER[2])
    rows = np.column_stack([[-50.0, 0.0, 50.0], dials - dials[1]]).tolist()
    read = np.degrees(toe_readings(readings("single-dial", rows)))
    assert toe_of(motion) == pytest.approx([0.0] * 3, abs=ANGLE_ATOL_DEG)
    assert read == pytest.approx(np.degrees(np.arctan([-0.02, 0.0, 0.02])), abs=ANGLE_ATOL_DEG)


@pytest.mark.parametrize(
    ("kind", "away", "keys", "least_deg"),
    [
        ("single-dial", [], {}, 0.02),
        ("laser", [3000.0], {"target_behind": None}, 0.02),
        ("laser", [3000.0, -2000.0], {"target_behind": 2000.0}, 1e-5),
    ],
)
def test_the_model_tells_how_much_of_a_fixed_gauge_s_reading_is_no_toe(
    demo_car, kind, away, keys, least_deg
):
    evaluator = Evaluator.of(read_case(demo_car))
    shown, toe = shown_by_fixed_gauge(evaluator, np.array(away))
    rows = np.column_stack([TRAVEL, shown - shown[2]]).tolist()
    sweep = readings(kind, rows, **keys)
    seen = toe_readings(sweep)
    wrong = seen - seen[2] - (toe - toe[2])
    assert np.degrees(np.abs(wrong).max()) > least_deg
    told = contamination(gauge_of(sweep), evaluator, Settings.single(), TRAVEL)
    np.testing.assert_allclose(np.degrees(told), np.degrees(wrong), atol=ANGLE_ATOL_DEG, rtol=0.0)


TRAVEL = np.array([-40.0, -20.0, 0.0, 20.0, 40.0])


def shown_by_fixed_gauge(evaluator, away):
    """Where a lone dial meets the wheel's plane, or a beam in it targets `away`, and true toe."""
    corner, setting = evaluator.corner, Settings.single()
    motion = evaluator.motion(setting, TRAVEL)
    center = motion.moved(corner.points["wheel_center"])[0]
    toe = evaluator.toe(setting, TRAVEL)[0]
    if not away.size:
        points = plate(corner.points["wheel_center"], corner.spin, outboard=0.0)
        x, z = center[2, :1] - 250.0, center[2, 2]
        return dial_places(motion, points, x, z)[0], toe
    # A second point of the beam, level with the first at ride height, is carried along with it.
    ahead = center[2] + 100.0 * np.array([np.cos(toe[2]), -np.sin(toe[2]), 0.0])
    back = motion.rotation[0, 2].T @ (ahead - motion.translation[0, 2])
    second = motion.moved(back)[0]
    center, second = center[..., None], second[..., None]
    share = (center[2, 0] + away - center[:, 0]) / (second[:, 0] - center[:, 0])
    return center[:, 1] + share * (second[:, 1] - center[:, 1]), toe


def test_two_targets_cancel_what_one_target_takes_for_toe():
    shifts = ((-4.0, -40.0), (0.0, 0.0), (3.0, 40.0))
    motion = carried([(0.5, 1.0, 0.0, 0.0, y, z) for y, z in shifts])
    center = motion.moved(CENTER)
    beam = turned(motion.rotation, np.array([1.0, 0.0, 0.0]))
    spots = [center[:, 1] + (x - center[:, 0]) * beam[:, 1] / beam[:, 0] for x in (2e3, -2e3)]
    rows = np.column_stack([[-40.0, 0.0, 40.0], *spots]).tolist()
    both = np.degrees(toe_readings(readings("laser", rows, target_ahead=2e3, target_behind=2e3)))
    assert np.ptp(both) < ANGLE_ATOL_DEG
    alone = readings("laser", [row[:2] for row in rows], target_ahead=2e3, target_behind=None)
    assert np.ptp(np.degrees(toe_readings(alone))) > 0.1


@pytest.mark.parametrize(("distance", "diameter", "minutes"), TOTAL)
def test_toe_plates_read_the_total_that_a_factory_manual_prints(distance, diameter, minutes):
    rows = [[travel, 1000.0, 1000.0 + float(distance)] for travel in (-10.0, 0.0, 10.0)]
    each = np.degrees(toe_readings(readings("toe-plates", rows, spacing=float(diameter))))
    assert 2.0 * each * 60.0 == pytest.approx(float(minutes), abs=half_last_digit(minutes))


@pytest.mark.parametrize(("distance", "diameter", "printed"), ONE_WHEEL)
def test_a_string_to_the_rim_reads_the_angle_of_one_wheel_that_is_printed(
    distance, diameter, printed
):
    # The string runs outboard: a toed-in wheel has the front of its rim farther from it.
    rows = [[travel, 100.0 + float(distance), 100.0] for travel in (-10.0, 0.0, 10.0)]
    sweep = readings("string", rows, spacing=float(diameter), reading_grows="inboard")
    # 1e-6: in one row it is the distance that was printed rounded, to 1e-6 in of 24 in.
    tolerance = max(half_last_digit(printed), 1e-6)
    read = np.degrees(toe_readings(sweep))
    if str(printed) == "0.15":
        tolerance = np.degrees(0.5e-6 / 24.0)
    assert read == pytest.approx(float(printed), abs=tolerance)


def test_two_laser_targets_112_inches_off_divide_by_eight_not_by_four():
    # A magazine's example (28 in tire, targets 112 in ahead and behind) divides the difference of
    # both targets by 4; the beam turns both ways, so the divisor is 8.
    rows = [[travel, 0.0, 8.0] for travel in (-1.0, 0.0, 1.0)]
    sweep = readings("laser", rows, target_ahead=112.0, target_behind=112.0, units="in")
    toe = toe_readings(sweep)
    assert 28.0 * np.tan(toe) == pytest.approx(1.0, abs=LENGTH_ATOL_MM)


def test_a_mirror_on_the_hub_doubles_the_angle():
    rows = [[travel, 3000.0 * np.tan(np.radians(1.0))] for travel in (-10.0, 0.0, 10.0)]
    assert np.degrees(toe_readings(readings("mirror", rows))) == pytest.approx(
        0.5, abs=ANGLE_ATOL_DEG
    )


IN = np.tan(np.radians(1.0))  # of a wheel that toes in by one degree


@pytest.mark.parametrize(
    ("kind", "row", "keys"),
    [
        ("two-dial", [-250.0 * IN, 250.0 * IN], {"reading_grows": "outboard"}),
        ("two-dial", [250.0 * IN, -250.0 * IN], {"reading_grows": "inboard"}),
        ("dial-and-roller", [500.0 * IN], {"reading_grows": "outboard", "dial_at": "rear"}),
        ("dial-and-roller", [500.0 * IN], {"reading_grows": "inboard", "dial_at": "front"}),
        ("dial-and-roller", [-500.0 * IN], {"reading_grows": "outboard", "dial_at": "front"}),
        ("single-dial", [250.0 * IN], {"reading_grows": "outboard", "dial_at": "rear"}),
        ("single-dial", [-250.0 * IN], {"reading_grows": "inboard", "dial_at": "rear"}),
        ("laser", [-3000.0 * IN, 3000.0 * IN], {"reading_grows": "outboard"}),
        ("laser", [3000.0 * IN], {"reading_grows": "inboard", "target_behind": None}),
        ("laser", [3000.0 * IN], {"reading_grows": "outboard", "target_ahead": None}),
        ("mirror", [-3000.0 * np.tan(np.radians(2.0))], {"reading_grows": "toe-out"}),
        ("string", [0.0, 430.0 * np.sin(np.radians(1.0))], {"reading_grows": "outboard"}),
        ("toe-plates", [0.0, 1200.0 * np.sin(np.radians(1.0))], {}),
        ("angle", [1.0], {}),
        ("angle", [60.0], {"angle_unit": "min"}),
        ("angle", [120.0], {"angle_unit": "min", "total": True}),
    ],
)
def test_a_wheel_that_toes_in_by_a_degree_reads_as_one_degree_on_every_gauge(kind, row, keys):
    sweep = readings(kind, [[travel, *row] for travel in (-10.0, 0.0, 10.0)], **keys)
    assert np.degrees(toe_readings(sweep)) == pytest.approx(1.0, abs=ANGLE_ATOL_DEG)


NOTHING_SHOWN = {kind: [0.0] * (len(columns) - 1) for kind, columns in COLUMNS.items()}
NOTHING_SHOWN["laser"] = [0.0, 0.0]


@pytest.mark.parametrize("kind", SET_UPS)
def test_what_a_gauge_shows_for_a_toe_reads_back_as_that_toe(kind):
    rows = [[travel, *NOTHING_SHOWN[kind]] for travel in (-1.0, 0.0, 1.0)]
    gauge = gauge_of(readings(kind, rows))
    toe = np.linspace(-5.0, 5.0, 21)
    back = np.degrees(gauge.toe(gauge.number(np.radians(toe))))
    assert back == pytest.approx(toe, abs=ANGLE_ATOL_DEG)


def test_inches_and_millimeters_say_the_same_toe():
    mm = readings("two-dial", [[t, 0.0, 2.54] for t in (-25.4, 0.0, 25.4)], spacing=508.0)
    inch = readings("two-dial", [[t, 0.0, 0.1] for t in (-1.0, 0.0, 1.0)], spacing=20.0, units="in")
    np.testing.assert_allclose(toe_readings(inch), toe_readings(mm), rtol=1e-12)
    np.testing.assert_allclose(wheel_travel(inch), wheel_travel(mm), rtol=1e-12)


def test_a_stated_noise_of_two_dials_is_that_of_their_difference_in_the_file_s_unit():
    rows = [[t, 0.0, 0.0] for t in (-1.0, 0.0, 1.0)]
    sweep = readings("two-dial", rows, units="in", spacing=20.0, noise=0.001)
    assert reading_noise(sweep) == pytest.approx(0.001 * np.sqrt(2.0) / 20.0, rel=1e-9)
    assert reading_noise(readings("two-dial", rows)) is None


def test_the_hub_comes_nearer_to_the_arch_in_bump_and_rises_from_the_floor():
    rows = [[height, 0.0] for height in (310.0, 350.0, 400.0)]
    arch = readings("angle", rows, travel_is="hub-to-arch", at_ride_height=350.0)
    floor = readings("angle", rows, travel_is="hub-to-floor", at_ride_height=350.0)
    assert wheel_travel(arch) == pytest.approx([40.0, 0.0, -50.0])
    assert wheel_travel(floor) == pytest.approx([-40.0, 0.0, 50.0])


def test_travel_may_be_counted_from_another_height_than_the_one_that_the_car_runs_at():
    # A car on bump stops runs 75 mm down; the sweep was zeroed with the car standing.
    rows = [[height, 0.0] for height in (50.0, 75.0, 100.0)]
    assert wheel_travel(readings("angle", rows, at_ride_height=75.0)) == pytest.approx(
        [-25.0, 0.0, 25.0]
    )


def test_turns_that_a_dial_does_not_show_are_counted_from_height_to_height():
    travel = np.arange(-60.0, 61.0, 20.0)
    rear = 0.15 * travel  # 18 mm in all, on a dial of 10 mm a turn
    shown, moved = (
        np.column_stack([travel, 0.0 * travel, dial]).tolist() for dial in (rear % 10.0, rear)
    )
    counted = toe_readings(readings("two-dial", shown, revolution=10.0))
    true = toe_readings(readings("two-dial", moved))
    np.testing.assert_allclose(counted - counted[3], true - true[3], atol=1e-4)
    # ... whatever the order in which the heights were read
    order = [3, 4, 5, 6, 0, 1, 2]
    again = toe_readings(readings("two-dial", [shown[k] for k in order], revolution=10.0))
    np.testing.assert_allclose(again, counted[order], rtol=1e-12)


def test_a_gauge_that_tells_toe_alone_sees_the_toe_of_the_model(demo_car):
    evaluator = Evaluator.of(read_case(demo_car))
    corner = moved_corner(evaluator, np.zeros((1, len(point_names(evaluator.corner)), 3)))
    two_dials = gauge_of(readings("two-dial", [[t, 0.0, 0.0] for t in (-1.0, 0.0, 1.0)]))
    seen = seen_toe(two_dials, evaluator, corner, Settings.single(), TRAVEL)[0]
    np.testing.assert_allclose(seen, evaluator.toe(Settings.single(), TRAVEL)[0], atol=1e-12)
