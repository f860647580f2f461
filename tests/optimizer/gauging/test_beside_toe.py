"""Readings beside toe: rod turned, sideways, camber, steer angles, toe-out, a caster sweep."""

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.vectors import turned
from geometry.wheel_angles import camber_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped, held_motion, moved_corner, sampled_motion
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.cli.main import main
from optimizer.files.case_file import read_case
from optimizer.gauging.fit import fitted_points, foretold_rates, linearized
from optimizer.gauging.observation import Observation, camber, sideways, toe
from optimizer.gauging.swept import swept
from optimizer.gauging.told_beside_toe import caster_of_sweep
from optimizer.models.case import Case
from optimizer.models.read_beside import BesideSlip, MovedBeside, MovedSlip
from tests.geometry.printed import numbers, published

from .conftest import CASES
from .garage import dial_places, plate
from .sweeps import angles, judged, only, readings

TRAVEL = np.arange(-50.0, 51.0, 10.0)
STRUT = CASES / "lowered-strut.toml"
# Of the difference of two readings, twice its standard deviation as a file has it by default.
NOISE_DEG = {
    "rod_turned": 0.02,
    "camber": 0.14,
    "steered": 0.7,
    "turn_toe_out": 0.7,
    "caster_sweep": 0.28,
}
NOISE_MM = 0.57  # of `sideways`, the same


def true_car(tape, seed=1):
    errors = np.random.default_rng(seed).normal(size=(1, len(point_names(tape.corner)), 3))
    return tape.with_corner(moved_corner(tape, errors).row(0))


def toe_of(car, longer=0.0, rack=0.0):
    """Toe at ride height with a rod so much longer, or the rack moved. [deg]."""
    motion = sampled_motion(
        car, as_taped(car), Settings.single(), np.zeros(1), rack=np.array([rack]), longer=longer
    )
    spin = turned(motion.rotation, car.corner.spin)[0, 0]
    return float(np.degrees(np.arctan2(spin[0], spin[1])))


def camber_of(car, travel):
    motion = sampled_motion(car, as_taped(car), Settings.single(), travel)
    return np.degrees(camber_angle(turned(motion.rotation, car.corner.spin)))[0]


def dial_at_hub(car, travel, *, ahead=0.0, above=0.0, outboard=0.0):
    """Where a dial that points across the car at hub height meets the plate, outboard positive."""
    motion = sampled_motion(car, as_taped(car), Settings.single(), np.append(travel, 0.0))
    center = car.corner.points["wheel_center"]
    at_home = motion.moved(center)[0, -1]
    on_hub, station = plate(center, car.corner.spin, outboard), [at_home[0] + ahead]
    return dial_places(motion, on_hub, station, at_home[2] + above)[0, :-1, 0]


def out_on_turns(car, rack):
    """By how much more the inner wheel of a turn is turned, the car mirrored. [deg]."""
    one, other = (toe_of(car, rack=x) - toe_of(car) for x in (rack, -rack))
    return -(one + other)


def camber_held(car, toe_deg):
    """Camber with the wheel steered by hand to a toe. [deg]."""
    motion = held_motion(car, as_taped(car), Settings.single(), np.zeros(2), np.radians([toe_deg]))
    return float(np.degrees(camber_angle(turned(motion.rotation, car.corner.spin)))[0, 0])


def beside(car, *, turns=2.0, pitch=1.5):
    """All tables that a readings file may hold beside its sweep, as a car would fill them in."""
    racks = np.array([-30.0, -15.0, 0.0, 15.0, 30.0])
    travel = np.array([-40.0, 0.0, 40.0])
    left = np.array([-toe_of(car, rack=rack) for rack in racks]) + 3.0  # a plate's own zero
    return {
        "rod_turned": [
            {
                "turns": turns,
                "pitch": pitch,
                "before": toe_of(car),
                "after": toe_of(car, turns * pitch),
            }
        ],
        "sideways": {
            "dial": np.column_stack([travel, 3.0 - dial_at_hub(car, travel)]).tolist(),
            "reading_grows": "inboard",
        },
        "camber": {"readings": np.column_stack([travel, camber_of(car, travel) + 0.7]).tolist()},
        "steered": {"readings": np.column_stack([racks, left]).tolist()},
        "turn_toe_out": {"readings": [[x, out_on_turns(car, x)] for x in (30.0, 15.0)]},
        "caster_sweep": {
            "steer_deg": 20.0,
            "camber_out_deg": camber_held(car, -20.0) + 0.4,
            "camber_in_deg": camber_held(car, 20.0) + 0.4,
        },
    }


def sweep_of(car, **keys):
    toe = np.degrees(car.toe(Settings.single(), TRAVEL)[0])
    return angles(dict(zip(TRAVEL, toe, strict=True)), noise=0.005, **keys)


def errors_of(tape, sweep):
    return fitted_points(tape, swept(sweep, tape).observations(tape)).errors


STEERED = ("steered", "turn_toe_out", "caster_sweep")


@pytest.fixture(params=["rod_turned", "sideways", "camber", *STEERED])
def key(request, demo_car):
    """Each table that this car's wheel can have."""
    if request.param in STEERED and read_case(demo_car).steering_kind is None:
        pytest.skip("a rear wheel is not steered")
    return request.param


def test_what_the_tape_foretells_moves_no_point(demo_car, key):
    tape = Evaluator.of(read_case(demo_car))
    known = beside(tape)
    assert np.abs(errors_of(tape, sweep_of(tape, **{key: known[key]}))).max() < 2e-3
    answer = judged(tape.case, [sweep_of(tape, **{key: known[key]})])
    assert not [x for x in answer.questions if isinstance(x, BesideSlip | MovedSlip)]


def test_the_corrected_car_shows_what_the_true_one_did(demo_car, key):
    tape = Evaluator.of(read_case(demo_car))
    true = true_car(tape)
    answer = judged(tape.case, [sweep_of(true, **{key: beside(true)[key]})])
    (told,) = answer.read_beside
    if isinstance(told, MovedBeside):
        assert abs(told.corrected_mm - told.seen_mm) < NOISE_MM
        assert told.give_or_take_mm > 0.0
    else:
        assert abs(told.corrected_deg - told.seen_deg) < NOISE_DEG[key]
        assert told.give_or_take_deg > 0.0


def test_a_dial_set_up_by_eye_reads_within_its_noise(demo_car):
    tape = Evaluator.of(read_case(demo_car))
    exact = dial_at_hub(tape, TRAVEL)
    for how in ({"ahead": 5.0}, {"above": 5.0}, {"outboard": 100.0}):
        off = dial_at_hub(tape, TRAVEL, **how) - exact
        assert np.abs(off - off[TRAVEL == 0.0]).max() < 2.0 * 0.2


def test_the_mean_of_both_dials_says_what_one_dial_does():
    tape = Evaluator.of(read_case(STRUT))
    true = true_car(tape)
    front, rear = (dial_at_hub(true, TRAVEL, ahead=x) for x in (250.0, -250.0))
    rows = np.column_stack([TRAVEL, front, rear]).tolist()
    mean = readings("two-dial", rows, noise=0.03, sideways={"both_dials": True})
    alone = np.column_stack([TRAVEL, 0.5 * (front + rear)]).tolist()
    one = {"dial": alone, "reading_grows": "outboard"}
    by_one = readings("two-dial", rows, noise=0.03, sideways=one)
    np.testing.assert_allclose(errors_of(tape, mean), errors_of(tape, by_one), atol=1e-9)
    plain = readings("two-dial", rows, noise=0.03)
    assert np.abs(errors_of(tape, mean) - errors_of(tape, plain)).max() > 0.05


def test_dials_that_stand_ahead_of_the_axle_are_foretold_there():
    tape = Evaluator.of(read_case(STRUT))
    rows = np.column_stack([TRAVEL, dial_at_hub(tape, TRAVEL, ahead=200.0)]).tolist()
    table = {"dial": rows, "reading_grows": "outboard", "noise": 0.02}
    there, here = (
        np.abs(errors_of(tape, sweep_of(tape, sideways=table | {"ahead": x}))).max()
        for x in (200.0, 0.0)
    )
    assert there < 2e-3
    assert here > 0.1


def test_a_row_of_dials_that_stands_apart_tells_nothing_of_either():
    tape = Evaluator.of(read_case(STRUT))
    front, rear = (dial_at_hub(tape, TRAVEL, ahead=x) for x in (250.0, -250.0))
    front[2] += 10.0
    rows = np.column_stack([TRAVEL, front, rear]).tolist()
    sweep = readings("two-dial", rows, noise=0.03, sideways={"both_dials": True})
    seen = swept(sweep, tape).beside(tape)["sideways"]
    assert seen.seen.size == TRAVEL.size - 1


def test_toe_out_on_turns_of_a_beam_axle_is_that_of_both_its_wheels():
    tape = Evaluator.of(read_case(CASES / "lifted-beam-axle.toml"))
    racks = np.array([-30.0, 30.0])
    motion = sampled_motion(
        tape, as_taped(tape), Settings.single(), np.zeros(3), rack=np.array([*racks, 0.0])
    )
    flip = np.array([1.0, -1.0, 1.0])
    spins = (
        turned(motion.rotation, tape.corner.spin)[0],
        flip * turned(motion.other_wheel.rotation, flip * tape.corner.spin)[0],
    )
    total = sum(np.degrees(np.arctan2(spin[:, 0], spin[:, 1])) for spin in spins)
    table = {"readings": np.column_stack([racks, total[2] - total[:2]]).tolist()}
    answer = judged(tape.case, [sweep_of(tape, turn_toe_out=table)])
    (told,) = answer.read_beside
    assert told.seen_deg == pytest.approx(told.foretold_deg, abs=1e-6)
    assert abs(told.seen_deg) > 0.3
    assert told.corrected_deg == pytest.approx(told.seen_deg, abs=0.02)


def test_turns_of_the_steering_wheel_stand_for_rack_travel():
    tape = Evaluator.of(read_case(STRUT))
    true = true_car(tape)
    known = beside(true)["turn_toe_out"]["readings"]
    turns = {"readings": [[x / 48.0, angle] for x, angle in known], "rack_per_turn": 48.0}
    np.testing.assert_allclose(
        errors_of(tape, sweep_of(true, turn_toe_out=turns)),
        errors_of(tape, sweep_of(true, turn_toe_out={"readings": known})),
        atol=1e-9,
    )


def test_a_drag_link_turned_tells_as_a_tie_rod_does():
    tape = Evaluator.of(read_case(CASES / "lifted-beam-axle.toml"))
    true = true_car(tape)
    answer = judged(tape.case, [sweep_of(true, rod_turned=beside(true)["rod_turned"])])
    (told,) = answer.read_beside
    assert told.seen_deg == pytest.approx(told.corrected_deg, abs=0.01)


def test_a_rod_that_was_turned_tells_what_a_tall_stack_is_worth(demo_car):
    tape = Evaluator.of(read_case(demo_car))
    true = true_car(tape)
    alone = fitted_points(tape, swept(sweep_of(true), tape).observations(tape))
    told = sweep_of(true, rod_turned=beside(true)["rod_turned"])
    with_rod = fitted_points(tape, swept(told, tape).observations(tape))

    def spread(fit):
        draws = np.random.default_rng(5).normal(size=(200, fit.errors.size))
        errors = fit.errors + (draws @ np.linalg.cholesky(fit.covariance).T).reshape(200, -1, 3)
        motion = sampled_motion(
            tape, moved_corner(tape, errors), Settings.single(20.0), np.array([-50.0, 0.0, 50.0])
        )
        spin = turned(motion.rotation, tape.corner.spin)
        toe = np.degrees(np.arctan2(spin[..., 0], spin[..., 1]))
        return (toe[:, 2] - toe[:, 1]).std()

    assert spread(with_rod) < 0.85 * spread(alone)


def test_a_reset_ends_at_static_toe_and_says_the_same():
    tape = Evaluator.of(read_case(STRUT))
    off = toe_of(tape, -3.0)
    reset = {"turns": 2.0, "pitch": 1.5, "reset": True, "before": off, "after": toe_of(tape)}
    assert np.abs(errors_of(tape, sweep_of(tape, rod_turned=[reset]))).max() < 2e-3


def test_the_formula_of_caster_gauges_comes_near_the_caster_of_the_points(demo_car):
    # The formula leaves out kingpin inclination and scrub; on links the steering axis moves too.
    tape = Evaluator.of(read_case(demo_car))
    if tape.case.steering_kind is None:
        pytest.skip("a rear wheel is not steered")
    answer = judged(tape.case, [sweep_of(tape, caster_sweep=beside(tape)["caster_sweep"])])
    (told,) = answer.read_beside
    motion = sampled_motion(tape, as_taped(tape), Settings.single(), np.zeros(1))
    axis = motion.steering_axis[0, 0]
    caster = np.degrees(np.arctan2(-axis[0], axis[2]))
    assert told.caster_deg == pytest.approx(caster, abs=1.0)


def test_a_wheel_on_a_bare_kingpin_shows_its_caster_by_the_formula():
    # A wheel square to the car turned by 20 deg each way about an axis that leans back by 5 deg.
    axis, spin = np.array([-np.sin(np.radians(5.0)), 0.0, np.cos(np.radians(5.0))]), [0.0, 1.0, 0.0]
    camber_deg = []
    for toe_deg in (-20.0, 20.0):
        turn = Rotation.from_rotvec(-np.radians(toe_deg) * axis)
        camber_deg.append(np.degrees(camber_angle(turn.apply(spin))))
    found = caster_of_sweep(np.radians(camber_deg), np.radians([-20.0, 20.0]))
    assert found == pytest.approx(5.0, abs=0.02)


def test_both_ends_of_a_sleeve_and_threads_per_inch_count_as_they_are():
    tape = Evaluator.of(read_case(STRUT))
    longer = 2.0 * 25.4 / 18.0
    rod = {"turns": 1.0, "threads_per_inch": 18.0, "both_ends": True}
    read = rod | {"before": toe_of(tape), "after": toe_of(tape, longer)}
    assert np.abs(errors_of(tape, sweep_of(tape, rod_turned=[read]))).max() < 2e-3


# --- what each tells, before any reading

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


# --- slips


def slip_of(table, *, seed=3):
    tape = Evaluator.of(read_case(STRUT))
    return only(BesideSlip, judged(tape.case, [sweep_of(true_car(tape, seed), **table)]).questions)


def test_turns_counted_the_wrong_way_are_asked_about():
    tape = Evaluator.of(read_case(STRUT))
    (read,) = beside(true_car(tape, 3))["rod_turned"]
    assert slip_of({"rod_turned": [read | {"turns": -2.0}]}).kind == "other-way"


def test_a_coarse_thread_typed_for_a_fine_one_is_named():
    tape = Evaluator.of(read_case(STRUT))
    (read,) = beside(true_car(tape, 3), pitch=1.5)["rod_turned"]
    slip = slip_of({"rod_turned": [read | {"pitch": 2.0}]})
    assert slip.kind == "pitch"
    assert slip.pitch_mm == pytest.approx(1.5, rel=0.06)
    assert slip.typed_pitch_mm == 2.0


@pytest.mark.parametrize(("both", "kind"), [(True, "halved"), (False, "doubled")])
def test_a_sleeve_taken_for_one_end_is_asked_about(both, kind):
    tape = Evaluator.of(read_case(STRUT))
    true = true_car(tape, 3)
    turned_by = 1.5 if both else 3.0
    read = {"longer_by": 2.0 * turned_by if both else 0.5 * turned_by}
    read |= {"before": toe_of(true), "after": toe_of(true, turned_by)}
    assert slip_of({"rod_turned": [read]}).kind == kind


def test_camber_with_the_sign_of_another_gauge_is_asked_about():
    tape = Evaluator.of(read_case(STRUT))
    travel = np.array([-60.0, 0.0, 50.0])
    rows = np.column_stack([travel, -camber_of(true_car(tape, 3), travel)]).tolist()
    slip = slip_of({"camber": {"readings": rows, "noise_deg": 0.02}})
    assert slip.kind == "sign"


def test_a_dial_that_grows_inboard_typed_outboard_is_asked_about():
    tape = Evaluator.of(read_case(STRUT))
    rows = np.column_stack([TRAVEL, dial_at_hub(true_car(tape, 3), TRAVEL)]).tolist()
    sweep = {"sideways": {"dial": rows, "reading_grows": "inboard"}}
    told = judged(tape.case, [sweep_of(true_car(tape, 3), **sweep)])
    slip = only(MovedSlip, told.questions)
    assert slip.kind == "sign"
    assert slip.seen_mm * slip.foretold_mm < 0.0
    assert told.contradictory


def test_toe_out_on_turns_typed_outer_less_inner_is_asked_about():
    tape = Evaluator.of(read_case(CASES / "extended-strut.toml"))
    true = true_car(tape, 3)
    table = {"readings": [[x, -out_on_turns(true, x)] for x in (30.0, 50.0)], "noise_deg": 0.1}
    slip = only(BesideSlip, judged(tape.case, [sweep_of(true, turn_toe_out=table)]).questions)
    assert slip.kind == "sign"


def test_steer_angles_of_the_other_wheel_are_asked_about():
    tape = Evaluator.of(read_case(CASES / "extended-strut.toml"))
    true = true_car(tape, 3)
    racks = np.array([-50.0, -25.0, 25.0, 50.0])
    other = np.array([toe_of(true, rack=-rack) for rack in racks])
    table = {"readings": np.column_stack([racks, other]).tolist(), "noise_deg": 0.1}
    slip = only(BesideSlip, judged(tape.case, [sweep_of(true, steered=table)]).questions)
    assert slip.kind == "other-wheel"


# --- the file


ANGLE = 'format = 1\nunits = "mm"\nkind = "angle"\nreading_grows = "toe-in"\ntotal = false\n'
ROWS = "readings = [[-50, 0.2], [-25, 0.1], [0, 0.0], [25, -0.1], [50, -0.2]]\n"


@pytest.mark.parametrize(
    ("table", "fault"),
    [
        ("[[rod_turned]]\nturns = 2\npitch = 1.5\n", "rod_turned[1].before must be given"),
        ("[[rod_turned]]\nbefore = 0\nafter = 1\n", "rod_turned[1].turns must be given, and not 0"),
        (
            "[[rod_turned]]\nturns = 2\nbefore = 0\nafter = 1\n",
            "rod_turned[1].pitch must be given, or threads_per_inch",
        ),
        (
            "[[rod_turned]]\nlonger_by = 3\nturns = 2\nbefore = 0\nafter = 1\n",
            "rod_turned[1].turns must be left out where longer_by is given",
        ),
        (
            "[[rod_turned]]\nlonger_by = 3\nbefore = [0, 1]\nafter = 1\n",
            "rod_turned[1].before must be [toe], got 2 numbers",
        ),
        ("[[rod_turned]]\nlonger_by = 3\nbefore = 0\n", "rod_turned[1].after must be given too"),
        ("[camber]\nreadings = [[0, 1, 2]]\n", "camber.readings[1] must be two numbers, got 3"),
        ("[steered]\nnoise_deg = 0.1\n", "steered.readings must be given"),
        (
            "[sideways]\nnoise = 0.1\n",
            "sideways.dial must be given, or both_dials = true with two dials",
        ),
        (
            "[sideways]\ndial = [[0, 1], [9, 2]]\n",
            "sideways.reading_grows must be given too",
        ),
        (
            "[sideways]\nboth_dials = true\n",
            'sideways.both_dials must be left out unless kind is "two-dial"',
        ),
        (
            '[sideways]\nboth_dials = true\nreading_grows = "inboard"\n',
            "sideways.reading_grows must be left out where both_dials is true",
        ),
        (
            "[turn_toe_out]\nreadings = [[9, 1, 2]]\n",
            "turn_toe_out.readings[1] must be two numbers",
        ),
        (
            "[caster_sweep]\nsteer_deg = 1\ncamber_out_deg = 0\ncamber_in_deg = 0\n",
            "caster_sweep.steer_deg must be between 5 and 60 deg, got 1 deg",
        ),
    ],
)
def test_a_table_that_can_t_be_used_is_refused_with_its_place(refused, table, fault):
    assert fault in refused(ANGLE + ROWS + table, case=STRUT)


def test_a_rear_wheel_is_not_steered(refused):
    table = "[steered]\nreadings = [[-10, 3], [10, -3]]\n"
    said = refused(ANGLE + ROWS + table, case=CASES / "five-link-rear.toml")
    assert "steered must be left out: a rear wheel is not steered" in said


def test_toe_out_on_turns_is_left_to_steer_angles_where_both_wheels_are_measured(refused):
    table = 'side = "left"\n[turn_toe_out]\nreadings = [[10, 1]]\n'
    said = refused(ANGLE + ROWS + table, case=CASES / "two-sided-wishbone.toml")
    assert "turn_toe_out must be left out: the case measures both wheels" in said


def test_the_report_tells_a_sideways_movement_in_the_unit_of_the_file(tmp_path, capsys):
    case = CASES / "kit-car-inches.toml"
    tape = Evaluator.of(read_case(case))
    toe = np.degrees(tape.toe(Settings.single(), TRAVEL)[0])
    dial = dial_at_hub(tape, TRAVEL) - dial_at_hub(tape, np.zeros(1))
    rows, dials = (
        ", ".join(f"[{t / 25.4:.6f}, {x:.6f}]" for t, x in zip(TRAVEL, read, strict=True))
        for read in (toe, dial / 25.4)
    )
    path = tmp_path / "visit.toml"
    path.write_text(
        f"{ANGLE.replace('mm', 'in')}outer_drop = 0\nrack_raise = 0\nreadings = [{rows}]\n"
        f'[sideways]\ndial = [{dials}]\nreading_grows = "outboard"\n',
        encoding="utf-8",
    )
    assert main(["gauge", str(case), str(path), "--verbose"]) in (0, 1)
    said = " ".join(capsys.readouterr().out.split())
    spans = f"{(dial[-1] - dial[0]) / 25.4:+.4f} in"
    assert f"sideways: over its rows the wheel moved outboard by {spans}" in said


def test_the_report_and_the_json_tell_what_was_read(tmp_path, capsys):
    path = tmp_path / "visit.toml"
    tape = Evaluator.of(read_case(STRUT))
    toe = np.degrees(tape.toe(Settings.single(), TRAVEL)[0])
    rows = ", ".join(f"[{t}, {x:.4f}]" for t, x in zip(TRAVEL, toe, strict=True))
    path.write_text(
        f"{ANGLE}outer_drop = 0\nrack_raise = 0\nreadings = [{rows}]\n"
        f"[[rod_turned]]\nturns = 2\npitch = 1.5\nbefore = 0.05\n"
        f"after = {0.05 + toe_of(tape, 3.0) - toe_of(tape):.4f}\n",
        encoding="utf-8",
    )
    assert main(["gauge", str(STRUT), str(path), "--verbose"]) in (0, 1)
    assert "rod_turned[1], tie rod 3.0 mm longer: toe changed by" in " ".join(
        capsys.readouterr().out.split()
    )
    assert main(["gauge", str(STRUT), str(path), "--json"]) in (0, 1)
    (wheel,) = json.loads(capsys.readouterr().out)["wheels"]
    (fact,) = wheel["facts"]["read_beside"]
    assert fact["longer_mm"] == 3.0
    assert fact["seen_deg"] == pytest.approx(fact["foretold_deg"], abs=1e-3)
