"""The possible cars of a case, against each car by itself, linear propagation and brute force."""

import sys

import numpy as np
import pytest
from scipy.stats import qmc

from geometry.toe_curve import toe_change
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars
from optimizer.car.sampled import moved_corner, sampled_toe, toe_spread
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names
from optimizer.files.case_file import read_car, read_case
from tests.optimizer.command_line import CASES, STRUT, WISHBONE
from tests.optimizer.one_wheel import evaluator_of

AS_IS = Settings.single()
FITTED = Settings.single(8.0, 3.0)
NOT_BUILT = {"stack": 0.0, "ride_height": 0.0, "rack_center": 0.0, "toe_setting_deg": 0.0}
NOT_BUILT |= {"rod_play": 0.0}
# What a quadratic leaves out of toe over two degrees either way; a gauge tells 0.01 deg.
QUADRATIC_ATOL_DEG, WITHIN_DEG = 0.003, 2.0


def exact_changes(evaluator, points, setting):
    """Toe change of each car with its rod, (N, H). [rad]."""
    cars = moved_corner(evaluator, points)
    toe = sampled_toe(evaluator, cars, setting, evaluator.travel)
    return toe_change(evaluator.travel, toe, evaluator.wanted)


def test_each_car_has_the_toe_change_that_its_rod_gives_it(demo_car):
    evaluator = Evaluator.of(read_case(demo_car))
    points = np.random.default_rng(1).normal(size=(12, len(point_names(evaluator.corner)), 3))
    cars = ManyCars.of(evaluator, points, np.zeros((12, len(BUILT))))
    assert cars.sound.all()
    for setting in (AS_IS, FITTED):
        exact = np.degrees(exact_changes(evaluator, points, setting))
        within = np.abs(exact) <= WITHIN_DEG
        assert within.mean() > 0.5
        assert np.degrees(cars.change(setting))[within] == pytest.approx(
            exact[within], rel=0, abs=QUADRATIC_ATOL_DEG
        )
        assert cars.peaks(setting)[0] == pytest.approx(np.abs(cars.change(setting)).max(axis=1))


def built(**shares):
    return np.array([[shares.get(name, 0.0) for name in BUILT]])


def one_car(evaluator, **shares):
    names = point_names(evaluator.corner)
    return ManyCars.of(evaluator, np.zeros((1, len(names), 3)), built(**shares))


def test_a_stack_that_is_off_is_another_stack():
    evaluator = evaluator_of(STRUT, stack=0.4)
    found = one_car(evaluator, stack=0.5).change(FITTED)
    exact = evaluator.toe_change(Settings.single(8.2, 3.0))
    assert np.degrees(found) == pytest.approx(np.degrees(exact), abs=QUADRATIC_ATOL_DEG)


def test_a_car_that_stands_too_high_is_scored_where_it_stands():
    evaluator = evaluator_of(STRUT, ride_height=4.0)
    found = one_car(evaluator, ride_height=-1.0).change(FITTED)
    case = evaluator.case
    lower = case.ride.model_copy(update={"lowered_by": case.ride.lowered_by - 4.0})
    exact = Evaluator.of(case.model_copy(update={"ride": lower})).toe_change(FITTED)
    assert np.degrees(found) == pytest.approx(np.degrees(exact), abs=QUADRATIC_ATOL_DEG)
    assert np.degrees(np.abs(exact - evaluator.toe_change(FITTED)).max()) > 0.005


def test_toe_that_is_set_wrong_is_another_static_toe():
    evaluator = evaluator_of(WISHBONE, toe_setting_deg=1.0)
    found = one_car(evaluator, toe=0.5).change(FITTED)
    case = evaluator.case
    set_to = float(np.degrees(evaluator.static_toe)) + 0.5
    other = case.model_copy(update={"ride": case.ride.model_copy(update={"toe_deg": set_to})})
    exact = Evaluator.of(other).toe_change(FITTED)
    assert np.degrees(found) == pytest.approx(np.degrees(exact), abs=QUADRATIC_ATOL_DEG)


def test_a_rack_off_center_is_an_inner_pivot_elsewhere():
    evaluator = evaluator_of(STRUT, rack_center=3.0)
    found = one_car(evaluator, rack_center=1.0).change(FITTED)
    moved = evaluator.corner.inner + 3.0 * evaluator.corner.rack_axis
    setting = Settings(*(getattr(FITTED, x) for x in ("outer_drop", "rack_raise", "linkage")))
    elsewhere = Settings(
        setting.outer_drop,
        setting.rack_raise,
        setting.linkage,
        inner_move=(moved - evaluator.corner.inner)[None],
    )
    exact = evaluator.toe_change(elsewhere)
    assert np.degrees(found) == pytest.approx(np.degrees(exact), abs=QUADRATIC_ATOL_DEG)


def test_small_errors_spread_as_linear_propagation_has_it(demo_car):
    evaluator = evaluator_of(demo_car, points=0.05, **NOT_BUILT)
    cars = ManyCars.drawn(evaluator, seed=0, count=2000)
    spread = cars.change(AS_IS)[:, [0, -1]].std(axis=0).max()
    assert spread == pytest.approx(toe_spread(evaluator), rel=0.05)


@pytest.mark.parametrize("path", [STRUT, WISHBONE], ids=lambda path: path.stem)
def test_large_errors_leave_the_chances_that_brute_force_finds(path):
    evaluator = evaluator_of(path, points=6.0, **NOT_BUILT)
    cars = ManyCars.drawn(evaluator, seed=5, count=1000)
    exact = np.abs(exact_changes(evaluator, cars.points, FITTED)).max(axis=1)
    exact, quick = exact[cars.sound], cars.peaks(FITTED)[0, cars.sound]
    assert np.degrees(np.median(exact)) > 0.3
    for share in (0.1, 0.5, 0.9):
        limit = np.quantile(exact, share)
        assert np.mean(quick <= limit) == pytest.approx(share, abs=0.005)


def test_a_seed_draws_the_same_cars_again_and_each_wheel_has_its_own():
    evaluator = evaluator_of(WISHBONE)
    one, again, other, right = (
        ManyCars.drawn(evaluator, seed, wheel, count=8)
        for seed, wheel in ((4, 0), (4, 0), (5, 0), (4, 1))
    )
    assert (one.points == again.points).all()
    assert (one.built == again.built).all()
    assert not (one.points == other.points).any()
    assert not (one.points == right.points).any()


def test_a_rack_that_is_off_center_is_so_for_both_wheels():
    moved = []
    for wheel, one in enumerate(read_car(CASES / "two-sided-wishbone.toml").wheels):
        exact = one.accuracy.model_copy(update={"points": 0.0})
        evaluator = Evaluator.of(one.model_copy(update={"accuracy": exact}))
        cars = ManyCars.drawn(evaluator, seed=4, wheel=wheel, count=8)
        moved.append(cars.corner.inner[:, 0] - evaluator.corner.inner)
    # Either wheel is seen as a left one: what moves one inner pivot outward moves the other inward.
    assert np.abs(moved[0][:, 1]).min() > 0.0
    assert moved[0] == pytest.approx(-moved[1], abs=1e-9)


@pytest.mark.slow
def test_chances_settle_as_fast_as_random_numbers_let_them(capsys):
    """Sobol's sequence settles faster, but loading it takes longer than all the cars do."""
    evaluator = evaluator_of(WISHBONE)
    tolerance, count = np.radians(0.15), len(point_names(evaluator.corner)) * 3
    many = ManyCars.drawn(evaluator, seed=99, count=65_536)
    truth = np.mean(many.peaks(FITTED)[0] <= tolerance)

    def chance(points, shares):
        cars = ManyCars.of(evaluator, points.reshape(len(points), -1, 3), shares)
        return np.mean(cars.peaks(FITTED)[0] <= tolerance)

    sizes, misses = [128, 512, 2048], {"random": [], "Sobol": []}
    for size in sizes:
        random, sobol = [], []
        for seed in range(16):
            cars = ManyCars.drawn(evaluator, seed, count=size)
            random.append(np.mean(cars.peaks(FITTED)[0] <= tolerance) - truth)
            points = qmc.Sobol(count + len(BUILT), rng=seed).random(size)
            normal = qmc.MultivariateNormalQMC(np.zeros(count), rng=seed).random(size)
            sobol.append(chance(normal, 2.0 * points[:, count:] - 1.0) - truth)
        misses["random"].append(float(np.sqrt(np.mean(np.square(random)))))
        misses["Sobol"].append(float(np.sqrt(np.mean(np.square(sobol)))))
    rates = {name: np.polyfit(np.log(sizes), np.log(miss), 1)[0] for name, miss in misses.items()}
    with capsys.disabled():
        for name, miss in misses.items():
            told = ", ".join(f"{n}: {x:.4f}" for n, x in zip(sizes, miss, strict=True))
            sys.stdout.write(
                f"\nchance of {truth:.3f} by {name} cars, r.m.s. miss {told}; "
                f"falls with the power {rates[name]:.2f}\n"
            )
    assert rates["random"] == pytest.approx(-0.5, abs=0.25)
    assert misses["random"][-1] < 1.5 * np.sqrt(truth * (1.0 - truth) / sizes[-1])


def test_cars_with_their_mirror_images_leave_nothing_odd_in_a_mean():
    evaluator = evaluator_of(WISHBONE)
    drawn = ManyCars.drawn(evaluator, seed=2, count=64)
    both = drawn.mirrored()
    assert (both.points[64:] == -drawn.points).all()
    assert (both.built[64:] == -drawn.built).all()
    truth = evaluator.toe_change(AS_IS)[0]
    random, mirrored = (
        np.abs(one.change(AS_IS).mean(axis=0) - truth).max() for one in (drawn, both)
    )
    assert np.degrees(random) > 0.01
    assert mirrored < 0.2 * random
