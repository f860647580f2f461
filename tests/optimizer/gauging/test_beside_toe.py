"""Readings beside toe: rod turned, sideways, camber, steer angles, toe-out, a caster sweep."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.vectors import turned
from geometry.wheel_angles import camber_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped, moved_corner, sampled_motion
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.gauging.fit import fitted_points
from optimizer.gauging.swept import swept
from optimizer.gauging.told_beside_toe import caster_of_sweep
from optimizer.models.read_beside import BesideSlip, MovedBeside, MovedSlip

from .conftest import CASES
from .read_beside import (
    NOISE_DEG,
    NOISE_MM,
    STEERED,
    STRUT,
    TRAVEL,
    beside,
    dial_at_hub,
    errors_of,
    sweep_of,
    toe_of,
)
from .sweeps import judged, readings, true_car


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
