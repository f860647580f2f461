"""Most probable points from tape and gauge together."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from geometry.toe_curve import toe_change
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner, sampled_change, sampled_toe
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.car.wanted import wanted_change
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.files.toml_file import file_text
from optimizer.gauging.fit import fitted_points, linearized
from optimizer.gauging.swept import swept
from optimizer.models.questions import NotToe, OutOfReach, PoorFit

from .sweeps import angles, judged, only, readings, true_car

TRAVEL = np.arange(-50.0, 51.0, 10.0)
NOISE = float(np.radians(0.005))


def sweep_of(true, setting, seed=None, **keys):
    toe = np.degrees(true.toe(setting, TRAVEL)[0])
    if seed is not None:
        toe = toe + np.degrees(NOISE) * np.random.default_rng(seed).normal(size=TRAVEL.size)
    keys = {"outer_drop": float(setting.outer_drop[0]), "noise": np.degrees(NOISE)} | keys
    return angles(dict(zip(TRAVEL, toe, strict=True)), **keys)


def fit_of(tape, *sweeps):
    return fitted_points(tape, [swept(one, tape).toe_seen() for one in sweeps])


def test_readings_that_the_tape_predicts_move_no_point(demo_car):
    tape = Evaluator.of(read_case(demo_car))
    fit = fit_of(tape, sweep_of(tape, Settings.single()))
    assert np.abs(fit.errors).max() < 1e-3


def test_the_corrected_car_reads_as_the_true_one_did(demo_car):
    tape = Evaluator.of(read_case(demo_car))
    true = true_car(tape)
    setting = Settings.single()
    fit = fit_of(tape, sweep_of(true, setting))
    corrected = tape.with_corner(moved_corner(tape, fit.errors[None]).row(0))
    missed = toe_change(TRAVEL, corrected.toe(setting, TRAVEL) - true.toe(setting, TRAVEL))
    assert np.degrees(np.abs(missed).max()) < 0.01
    assert np.abs(fit.errors).max() < 3.0


def test_it_is_the_least_sum_of_squares_of_tape_and_gauge(demo_folder):
    tape = Evaluator.of(read_case(demo_folder / "lowered-strut.toml"))
    sweep = swept(sweep_of(true_car(tape), Settings.single(), seed=2), tape).toe_seen()
    fit = fitted_points(tape, [sweep])

    def misses(errors):
        cars = moved_corner(tape, errors.reshape(len(errors), -1, 3))
        miss = sweep.seen - sampled_toe(tape, cars, sweep.fitted, sweep.travel)
        return (miss - miss.mean(axis=1, keepdims=True)) / sweep.noise[0]

    unit = np.eye(fit.errors.size)
    best = least_squares(
        lambda errors: np.concatenate([misses(errors[None])[0], errors]),
        np.zeros(fit.errors.size),
        lambda errors: np.concatenate(
            [(misses(errors + 0.01 * unit) - misses(errors - 0.01 * unit)).T / 0.02, unit]
        ),
    )
    # The fit ends where its next step is below a hundredth of a standard deviation.
    assert fit.errors.ravel() == pytest.approx(best.x, abs=0.01)
    # The readings keep little more than their noise: 11 rows less the zero, slope and curvature.
    assert np.square(fit.residuals).sum() < 20.0


def test_rates_are_those_of_the_exact_model(demo_folder):
    tape = Evaluator.of(read_case(demo_folder / "track-wishbone.toml"))
    names = point_names(tape.corner)
    sweep = swept(sweep_of(tape, Settings.single()), tape).toe_seen()
    rates, misfit = linearized(tape, [sweep], np.zeros(3 * len(names)))
    place = 3 * names.index("tie_rod_inner") + 2
    errors = np.zeros((2, len(names), 3))
    errors[:, place // 3, 2] = [1e-2, -1e-2]
    up, down = sampled_toe(tape, moved_corner(tape, errors), sweep.fitted, sweep.travel)
    rate = (up - down) / 2e-2
    expected = (rate - rate.mean()) / sweep.noise[0]
    assert rates[:, place] == pytest.approx(expected, rel=1e-3)
    assert np.abs(misfit).max() < 1e-6


def test_two_stacks_swept_tell_more_than_one(demo_folder):
    tape = Evaluator.of(read_case(demo_folder / "lowered-strut.toml"))
    true = true_car(tape)
    first = sweep_of(true, Settings.single(), seed=4)
    second = sweep_of(true, Settings.single(15.0), seed=5)
    one, both = fit_of(tape, first), fit_of(tape, first, second)
    middle = Settings.single(7.0)

    def spread(fit):
        draws = np.random.default_rng(6).normal(size=(100, fit.errors.size))
        errors = fit.errors + (draws @ np.linalg.cholesky(fit.covariance).T).reshape(100, -1, 3)
        toe = sampled_toe(tape, moved_corner(tape, errors), middle, TRAVEL)
        return np.degrees(toe_change(TRAVEL, toe)[:, -1].std())

    assert spread(both) < 0.7 * spread(one)


def test_a_point_that_was_mistyped_is_named_for_measuring_again(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    tape = Evaluator.of(case)
    x, y, z = case.points.tie_rod_inner
    points = case.points.model_copy(update={"tie_rod_inner": (x, y, z + 25.0)})
    wrong = case.model_copy(update={"points": points})
    answer = judged(wrong, [sweep_of(tape, Settings.single())])
    named = [(moved.point, moved.axis) for moved in answer.moved if moved.remeasure]
    assert ("tie_rod_inner", "z") in named
    moved = answer.moved[named.index(("tie_rod_inner", "z"))]
    assert moved.by_mm < 0.0
    assert moved.sigmas > 3.0


def test_what_the_tape_should_miss_anyway_is_told_but_not_sent_back(demo_folder):
    tape = Evaluator.of(read_case(demo_folder / "lowered-strut.toml"))
    answer = judged(tape.case, [sweep_of(true_car(tape), Settings.single())])
    sigmas = [moved.sigmas for moved in answer.moved]
    assert sigmas == sorted(sigmas, reverse=True)
    assert 0.25 < sigmas[-1] <= sigmas[0] < 3.0
    assert not any(moved.remeasure for moved in answer.moved)
    assert answer.moved[0].point.startswith("tie_rod_")


def test_a_coordinate_known_to_nothing_keeps_its_place(demo_folder):
    text = file_text(demo_folder / "lowered-strut.toml")
    exact = case_from_toml(text + "\n[accuracy]\npoints = 0.0\n", "exact")
    tape = Evaluator.of(read_case(demo_folder / "lowered-strut.toml"))
    answer = judged(exact, [sweep_of(true_car(tape), Settings.single())])
    assert answer.fitted_points["tie_rod_inner"] == pytest.approx(exact.points.tie_rod_inner)
    assert only(PoorFit, answer.questions).times > 3.0


def test_a_right_wheel_is_corrected_on_the_right(demo_folder):
    text = file_text(demo_folder / "lowered-strut.toml")
    case = case_from_toml(text, "left")
    mirrored = case.points.model_dump()
    points = {name: (x, -y, z) for name, (x, y, z) in mirrored.items()}
    right = case.model_copy(update={"points": type(case.points).model_validate(points)})
    sweep = sweep_of(true_car(Evaluator.of(case)), Settings.single())
    left_answer, right_answer = judged(case, [sweep]), judged(right, [sweep])
    for name, (x, y, z) in left_answer.fitted_points.items():
        assert right_answer.fitted_points[name] == pytest.approx((x, -y, z), abs=1e-6)
    # The rack goes to the other side, limits say which side they are of, and cars are drawn anew.
    mirrored = {"side", "tightest_joint", "tightest_gap", "chances"}
    found, expected = (
        answer.next.model_dump(exclude=mirrored) for answer in (right_answer, left_answer)
    )
    assert found == expected
    moved = {(place.point, place.axis): place.by_mm for place in left_answer.moved}
    for place in right_answer.moved:
        sign = -1.0 if place.axis == "y" else 1.0
        assert place.by_mm == pytest.approx(sign * moved[place.point, place.axis], abs=1e-6)


def test_a_lone_dial_is_fitted_as_what_it_sees(demo_folder):
    tape = Evaluator.of(read_case(demo_folder / "lowered-strut.toml"))
    true = true_car(tape)
    lone = readings("single-dial", [[t, 0.0] for t in TRAVEL])
    gauge_seen = swept(lone, true)
    shown = 250.0 * np.tan(true.toe(Settings.single(), TRAVEL)[0] + gauge_seen.not_toe)
    rows = np.column_stack([TRAVEL, shown]).tolist()
    answer = judged(tape.case, [readings("single-dial", rows, noise=0.03)])
    assert only(NotToe, answer.questions).units == "mm"
    # With what is no toe taken off, the slope is within what the points' accuracy leaves of it.
    slope = np.degrees(np.polyfit(TRAVEL, true.toe(Settings.single(), TRAVEL)[0], 3)[2]) * 10.0
    assert answer.measured.toe_slope_deg_per_10mm == pytest.approx(slope, abs=0.05)


def test_heights_that_the_points_can_t_reach_are_told_and_take_no_part(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    tape = Evaluator.of(case)
    toe = dict(zip(TRAVEL, np.degrees(tape.toe(Settings.single(), TRAVEL)[0]), strict=True))
    answer = judged(case, [angles(toe | {390.0: 0.4})])
    assert only(OutOfReach, answer.questions).travel_mm == (390.0,)
    assert answer.next is not None


def test_many_cars_score_as_one_by_one_by_the_exact_solver(demo_car):
    tape = Evaluator.of(read_case(demo_car))
    wanted = wanted_change(tape.case.aim, TRAVEL)
    errors = np.random.default_rng(7).normal(size=(12, len(point_names(tape.corner)), 3))
    cars, drops = moved_corner(tape, errors), np.array([0.0, 10.0, 20.0])
    settings = Settings(drops, np.zeros(3), np.zeros(3, dtype=np.intp))
    quick = sampled_change(tape, cars, settings, TRAVEL)
    exact = np.stack(
        [
            toe_change(
                TRAVEL, sampled_toe(tape, cars, settings.rows(np.array([k])), TRAVEL), wanted
            )
            for k in range(3)
        ]
    )
    # Quadratic in toe over ±2 deg: what it leaves out no gauge can see.
    np.testing.assert_allclose(np.degrees(quick), np.degrees(exact), atol=0.003)
