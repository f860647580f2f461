"""The wheel that nobody measured: how far it may be from a mirror image, in the possible cars."""

import numpy as np
import pytest
from msgspec.structs import replace

from geometry.toe_curve import toe_change
from optimizer.answers.suggest import suggest
from optimizer.answers.uncertainty import uncertainty
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars
from optimizer.car.sampled import moved_corner, sampled_toe
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names, with_points_moved
from optimizer.files.case_file import read_case
from optimizer.limits.kept import kept_in_cars
from optimizer.limits.margins import margins
from optimizer.models.vehicle import Vehicle
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, run
from tests.optimizer.one_wheel import evaluator_of

FITTED = Settings.single(8.0, 3.0)
NO_BUILD = dict.fromkeys(
    ("stack", "ride_height", "rack_center", "toe_setting_deg", "rod_play"), 0.0
)
QUADRATIC_ATOL_DEG, WITHIN_DEG = 0.003, 2.0  # as of possible cars


def test_peaks_are_those_of_the_worse_of_two_wheels_solved_exactly():
    evaluator = evaluator_of(WISHBONE, left_right=4.0, **NO_BUILD)
    cars = ManyCars.drawn(evaluator, 3, count=40)
    here = moved_corner(evaluator, cars.points)
    there = with_points_moved(here, 4.0 * cars.other.apart[:, None])
    exact = [
        np.abs(
            toe_change(
                evaluator.travel,
                sampled_toe(evaluator, corner, FITTED, evaluator.travel),
                evaluator.wanted,
            )
        ).max(axis=1)
        for corner in (here, there)
    ]
    worse = np.degrees(np.max(exact, axis=0))
    assert np.abs(worse - np.degrees(exact[0])).max() > 0.05
    assert worse.max() < WITHIN_DEG
    assert np.degrees(cars.peaks(FITTED)[0]) == pytest.approx(worse, abs=QUADRATIC_ATOL_DEG)


def test_one_rack_off_its_center_is_so_for_both_wheels_and_the_rest_of_the_build_for_each():
    cars = ManyCars.drawn(evaluator_of(STRUT, left_right=1.0), 0, count=300)
    center = BUILT.index("rack_center")
    assert (cars.other.built[:, center] == -cars.built[:, center]).all()
    for k in set(range(len(BUILT))) - {center}:
        assert abs(np.corrcoef(cars.built[:, k], cars.other.built[:, k])[0, 1]) < 0.2


def test_a_mirror_image_changes_nothing_and_each_millimeter_makes_the_tolerance_rarer():
    case, told = read_case(WISHBONE), []
    for apart in (0.0, 1.0, 4.0):
        accuracy = case.accuracy.model_copy(update={"points": 0.3, "left_right": apart})
        found = suggest(Vehicle((case.model_copy(update={"accuracy": accuracy}),)))
        told.append(found.ranked[0].chances.meets_tolerance_probability)
        sure = found.wheels[0].uncertainty.meets_tolerance_probability
        assert sure == pytest.approx(told[-1], abs=1e-9)
    assert told[0] > told[1] > told[2]
    assert ManyCars.drawn(Evaluator.of(case), 0, count=4).other is None


def test_cars_made_anew_keep_their_other_wheel():
    evaluator = evaluator_of(STRUT, left_right=2.0)
    cars = ManyCars.drawn(evaluator, 0, count=6)
    assert cars.first(4).peaks(FITTED) == pytest.approx(cars.peaks(FITTED)[:, :4])
    both = cars.mirrored().peaks(FITTED)
    assert both.shape == (1, 12)
    assert both[:, :6] == pytest.approx(cars.peaks(FITTED))
    assert uncertainty(cars, FITTED).samples == 6


def test_limits_of_the_other_wheel_count_as_the_exact_motion_finds_them():
    evaluator = evaluator_of(STRUT, left_right=6.0, points=0.5, **NO_BUILD)
    cars = ManyCars.drawn(evaluator, 1, count=60)
    worst = []
    for corner in (cars.corner, cars.other.corner):
        for k in range(60):
            one = replace(
                corner,
                points={name: point[k, 0] for name, point in corner.points.items()},
                outer_seat=corner.outer_seat[k, 0],
                inner=corner.inner[k, 0],
            )
            found = margins(evaluator.with_corner(one), FITTED, follow="smallest")
            (inner,) = (x for x in found if x.name == "inner joint")
            worst.append(float(inner.value[0]))
    tilts = np.max(np.array(worst).reshape(2, 60), axis=0)
    here = np.array(worst[:60])
    assert np.quantile(tilts, 0.5) > np.quantile(here, 0.5) + 0.1
    limit = float(np.quantile(tilts, 0.5))
    inner = evaluator.case.joint.inner.model_copy(update={"tilt_limit_deg": limit})
    joint = evaluator.case.joint.model_copy(update={"inner": inner})
    tight = replace(evaluator, case=evaluator.case.model_copy(update={"joint": joint}))
    found = margins(tight, FITTED, follow="smallest")
    _, shares = kept_in_cars(tight, FITTED, found, cars.of_case(tight))
    (kept,) = (share[0] for one, share in shares if one.name == "inner joint")
    # The same sixty cars: what is left is the first order.
    assert kept == pytest.approx(0.5, abs=0.1)


@pytest.mark.parametrize(
    ("car", "said"),
    [
        ("two-sided-wishbone", "must be left out where both wheels are measured"),
        ("lifted-beam-axle", "must be left out on a beam-axle"),
        ("lifted-leaf-axle", "must be left out on a leaf-axle"),
    ],
)
def test_a_car_that_knows_its_other_wheel_refuses_it(tmp_path, capsys, car, said):
    path = tmp_path / "car.toml"
    text = (CASES / f"{car}.toml").read_text(encoding="utf-8")
    table = "" if "[accuracy]" in text else "\n[accuracy]\n"
    at = text.index("\n", text.index("[accuracy]")) + 1 if not table else len(text)
    path.write_text(f"{text[:at]}{table}left_right = 2.0\n{text[at:]}", encoding="utf-8")
    assert run("suggest", path) == 2
    err = capsys.readouterr().err
    assert "accuracy.left_right" in err
    assert said in err


def test_the_report_says_of_which_wheel_it_tells(tmp_path, capsys):
    path = tmp_path / "car.toml"
    text = WISHBONE.read_text(encoding="utf-8")
    for more, said in (("", False), ("\n[accuracy]\nleft_right = 1.0\n", True)):
        path.write_text(text + more, encoding="utf-8")
        run("suggest", path, "--verbose")
        told = " ".join(capsys.readouterr().out.split())
        assert ("Peaks and limits are of the worse wheel" in told) == said


def test_names_of_points_are_as_many_as_are_apart():
    evaluator = evaluator_of(WISHBONE, left_right=1.0)
    cars = ManyCars.drawn(evaluator, 0, count=3)
    assert cars.other.apart.shape == (3, len(point_names(evaluator.corner)), 3)
    assert np.abs(cars.other.apart).max() <= 1.0
