"""The corrected case: comments kept, nothing half-written, and the car that the readings make."""

import errno
import json
from pathlib import Path

import numpy as np
import pytest

from geometry.vectors import turned
from geometry.wheel_angles import toe_angle
from optimizer.answers.pictures import views_of_next
from optimizer.answers.suggest import suggest
from optimizer.car.alignment import aligned_case
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner, sampled_motion
from optimizer.car.settings import Settings
from optimizer.car.tape import length_deviation, point_names, tape_root
from optimizer.cli.main import main
from optimizer.files.case_file import car_from_toml, case_from_toml, read_car, read_case
from optimizer.files.corrected_case import corrected_text
from optimizer.files.toml_file import file_text
from optimizer.gauging.loop import gauge
from optimizer.models.case import Case
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle
from optimizer.reports.pages.gauge import gauge_figures

from .conftest import CASES
from .sweeps import as_swept, true_car

TRAVEL = np.arange(-50.0, 51.0, 10.0)
MISSED = 1  # the demo's shelf holds nothing within its tolerance
# By part that is moved: a demo car, and what is asked for.
WISHES = {
    "strut-top": ("lowered-strut", "camber_deg = -2.5\ncaster_deg = 4.5\n"),
    "strut-bolts": ("lowered-strut", "camber_deg = -2.5\nbolt = [0.0, 660.0, 330.0]\n"),
    "upper-arm": ("two-sided-wishbone", "camber_deg = -1.5\ncaster_deg = 5.0\n"),
    "lower-arm": ("kit-car-inches", "caster_deg = 5.5\n"),
}


def swept(car: Vehicle, seed: int) -> list[Readings]:
    """A sweep of each wheel of the car that the tape has missed by its accuracy, aligned."""
    found = []
    for case in car.wheels:
        tape, rng = Evaluator.of(aligned_case(case)), np.random.default_rng(seed)
        found.append(as_swept(true_car(tape, rng), TRAVEL, side=case.side))
    return found


def test_the_corrected_case_keeps_every_comment_and_reads_as_what_was_fitted(
    demo_folder, tmp_path, capsys
):
    case = demo_folder / "lowered-strut.toml"
    sweep = demo_folder / "readings" / "lowered-strut.toml"
    target = tmp_path / "corrected.toml"
    assert main(["gauge", str(case), str(sweep), "--json", "--write", str(target)]) == MISSED
    text = target.read_text(encoding="utf-8")
    original = case.read_text(encoding="utf-8")
    comments = [line.partition("#")[2] for line in original.splitlines() if "#" in line]
    assert comments
    assert all(comment in text for comment in comments)
    corrected, before = read_case(target), read_case(case)
    kept = {"points": before.points, "accuracy": before.accuracy}
    assert corrected.model_copy(update=kept) == before
    assert corrected.points != before.points
    fitted = json.loads(capsys.readouterr().out)["wheels"][0]["fitted_points"]
    for name, point in corrected.points.model_dump().items():
        assert point == pytest.approx(fitted[name], abs=0.005)  # written to hundredths


@pytest.mark.parametrize("name", ["lowered-strut", "kit-car-inches", "two-sided-wishbone"])
def test_what_readings_leave_open_is_written_and_read_as_it_was_found(demo_folder, name):
    path = demo_folder / f"{name}.toml"
    car = read_car(path)
    answer = gauge(car, swept(car, seed=1))
    corrected = car_from_toml(corrected_text(file_text(path), answer), "corrected")
    for case, then, wheel in zip(car.wheels, corrected.wheels, answer.wheels, strict=True):
        tape, now = Evaluator.of(case), Evaluator.of(then)
        root = tape_root(then, now.corner)
        rows = [row for rows in wheel.covariance_root.values() for row in rows]
        said = np.array([[*row, *(len(rows) - len(row)) * [0.0]] for row in rows])
        mirror = np.tile([1.0, np.sign(case.points.wheel_center[1]), 1.0], len(rows) // 3)
        said = mirror[:, None] * said
        assert list(wheel.covariance_root) == point_names(now.corner)
        np.testing.assert_allclose(root @ root.T, said @ said.T, atol=1e-3)
        # Of a toe change, which was read, next to nothing is left open; of the points nearly all.
        before, after = (sampled_toe(one).std(axis=0).max() for one in (tape, now))
        assert after < 0.2 * before
        by_tape = tape_root(case, tape.corner)
        assert np.trace(root @ root.T) > 0.7 * np.trace(by_tape @ by_tape.T)


def sampled_toe(evaluator: Evaluator) -> np.ndarray:
    """Toe change that 200 cars show which the case allows, (N, T). [rad]."""
    errors = np.random.default_rng(7).normal(size=(200, len(point_names(evaluator.corner)), 3))
    corner = moved_corner(evaluator, errors)
    motion = sampled_motion(evaluator, corner, Settings.single(), np.append(TRAVEL, 0.0))
    toe = toe_angle(turned(motion.rotation, corner.spin))
    return toe[:, :-1] - toe[:, -1:]


def test_a_car_that_was_swept_is_surer_than_by_tape(demo_folder):
    path = demo_folder / "lowered-strut.toml"
    car = read_car(path)
    corrected = car_from_toml(corrected_text(file_text(path), gauge(car, swept(car, 1))), "then")
    by_tape, then = (suggest(one).ranked[0].chances for one in (car, corrected))
    assert then.peak_95_deg - then.peak_05_deg < 0.5 * (by_tape.peak_95_deg - by_tape.peak_05_deg)


def test_a_page_draws_where_the_next_stack_may_come_out(demo_folder):
    car = read_car(demo_folder / "lowered-strut.toml")
    answer = gauge(car, swept(car, 1))
    (view,), (wheel,) = views_of_next(car, answer), answer.wheels
    band, expected = view.tape, {one.travel_mm: one.toe_change_deg for one in wheel.expected}
    for travel, low, high in zip(band.travel_mm, band.low_deg, band.high_deg, strict=True):
        toe = np.interp(travel, sorted(expected), [expected[x] for x in sorted(expected)])
        assert low - 0.01 <= toe <= high + 0.01
    assert max(np.subtract(band.high_deg, band.low_deg)) < 0.2


def test_a_page_draws_the_whole_curve_to_expect_where_few_heights_were_read(demo_folder):
    """A line from one height that was read to the next would leave the band around it."""
    car = read_car(demo_folder / "lowered-strut.toml")
    sweeps = swept(car, 1)
    ends = [row for row in sweeps[-1].readings if row[0] in (-50.0, 0.0, 50.0)]
    answer = gauge(car, [sweeps[-1].model_copy(update={"readings": ends})])
    (view,), (wheel,) = views_of_next(car, answer), answer.wheels
    assert len(wheel.expected) == 3
    (figure,) = gauge_figures(answer, [view])
    drawn = dict(zip(view.toe.travel_mm, view.toe.toe_change_deg, strict=True))
    assert len(figure.table.rows) == len(drawn) == 12
    for one in wheel.expected:
        assert drawn[one.travel_mm] == pytest.approx(one.toe_change_deg, abs=1e-6)
    band = view.tape
    for travel, low, high in zip(band.travel_mm, band.low_deg, band.high_deg, strict=True):
        toe = np.interp(travel, [*drawn], [*drawn.values()])
        assert low - 0.005 <= toe <= high + 0.005


def test_a_case_in_inches_is_corrected_in_inches(demo_folder):
    path = demo_folder / "kit-car-inches.toml"
    car = read_car(path)
    answer = gauge(car, swept(car, seed=1))
    corrected = case_from_toml(corrected_text(file_text(path), answer), "corrected")
    for name, point in corrected.points.model_dump().items():
        # Written to a ten-thousandth of an inch.
        assert point == pytest.approx(answer.wheels[0].fitted_points[name], abs=0.0013)


@pytest.mark.parametrize(("overwrite", "code"), [([], 2), (["--overwrite"], MISSED)])
def test_a_file_is_replaced_only_when_told(demo_folder, tmp_path, capsys, overwrite, code):
    case = tmp_path / "car.toml"
    before = (demo_folder / "lowered-strut.toml").read_text(encoding="utf-8")
    case.write_text(before, encoding="utf-8")
    sweep = demo_folder / "readings" / "lowered-strut.toml"
    assert main(["gauge", str(case), str(sweep), "--write", str(case), *overwrite]) == code
    assert (case.read_text(encoding="utf-8") == before) == (code == 2)
    assert ("exists already; add --overwrite" in capsys.readouterr().err) == (code == 2)
    assert [path.name for path in tmp_path.iterdir()] == ["car.toml"]


def test_a_disk_that_fills_up_costs_nothing_that_was_there(
    demo_folder, tmp_path, capsys, monkeypatch
):
    case = tmp_path / "car.toml"
    before = (demo_folder / "lowered-strut.toml").read_text(encoding="utf-8")
    case.write_text(before, encoding="utf-8")
    sweep = demo_folder / "readings" / "lowered-strut.toml"

    def full(self, target):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    command = ["gauge", str(case), str(sweep), "--write", str(case), "--overwrite"]
    assert main(command) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"pivotwright: error: --write {case}: No space left on device\n"
    assert case.read_text(encoding="utf-8") == before
    assert [path.name for path in tmp_path.iterdir()] == ["car.toml"]


def test_a_link_to_a_case_still_links_to_it_once_it_is_corrected(demo_folder, tmp_path):
    case, link = tmp_path / "car.toml", tmp_path / "link.toml"
    before = (demo_folder / "lowered-strut.toml").read_text(encoding="utf-8")
    case.write_text(before, encoding="utf-8")
    link.symlink_to(case)
    sweep = demo_folder / "readings" / "lowered-strut.toml"
    assert main(["gauge", str(case), str(sweep), "--write", str(link), "--overwrite"]) == MISSED
    assert link.is_symlink()
    assert case.read_text(encoding="utf-8") != before


@pytest.mark.parametrize("means", WISHES)
def test_the_corrected_case_aligned_again_is_the_car_that_the_readings_made(means):
    name, wish = WISHES[means]
    text = f'{file_text(CASES / f"{name}.toml")}\n[alignment]\nby = "{means}"\n{wish}'
    car = car_from_toml(text, name)
    answer = gauge(car, swept(car, seed=3))
    again = car_from_toml(corrected_text(text, answer), name)
    for before, case, wheel in zip(car.wheels, again.wheels, answer.wheels, strict=True):
        kept = {key: getattr(before, key) for key in ("points", "alignment", "accuracy")}
        assert case.model_copy(update=kept) == before
        made, model = aligned_case(case), model_of(before, wheel.fitted_points)
        for point, place in made.points.model_dump().items():
            # Points are written to hundredths of a millimeter.
            assert place == pytest.approx(wheel.fitted_points[point], abs=0.012)
        peaks = [
            np.degrees(Evaluator.of(one).curve(Settings.single(5.0)).peak) for one in (made, model)
        ]
        assert peaks[0] == pytest.approx(peaks[1], abs=0.002)


def model_of(case: Case, fitted_points: dict[str, tuple[float, float, float]]) -> Case:
    """The case that `gauge` made: aligned, with the fitted points."""
    aligned = aligned_case(case)
    points = type(aligned.points).model_validate(fitted_points, context={"units": "mm"})
    return aligned.model_copy(update={"points": points})


@pytest.mark.parametrize("means", ["strut-top", "strut-bolts"])
def test_suggest_says_of_the_written_case_what_it_says_of_the_car_that_gauge_made(means):
    name, wish = WISHES[means]
    text = f'{file_text(CASES / f"{name}.toml")}\n[alignment]\nby = "{means}"\n{wish}'
    car = car_from_toml(text, name)
    answer = gauge(car, swept(car, seed=3))
    written, model = (
        suggest(one)
        for one in (
            car_from_toml(corrected_text(text, answer), name),
            Vehicle((model_of(car.case, answer.wheels[0].fitted_points),)),
        )
    )
    for found, expected in ((written.as_is, model.as_is), (written.first, model.first)):
        (left,), (right,) = found.wheels, expected.wheels
        assert (left.outer_drop_mm, left.rack_raise_mm) == (
            right.outer_drop_mm,
            right.rack_raise_mm,
        )
        assert left.peak_toe_change_deg == pytest.approx(right.peak_toe_change_deg, abs=0.001)
        assert left.fits == right.fits


def test_both_wheels_are_corrected_each_by_its_own_and_every_comment_kept():
    path = CASES / "two-sided-wishbone.toml"
    car = read_car(path)
    answer = gauge(car, swept(car, seed=2))
    text = corrected_text(file_text(path), answer)
    assert text.count("#") == file_text(path).count("#") + 1 + 2  # a note, and one a wheel
    for case, wheel in zip(car_from_toml(text, "x").wheels, answer.wheels, strict=True):
        for name, point in wheel.fitted_points.items():
            assert getattr(case.points, name) == pytest.approx(point, abs=0.006)


def test_a_case_corrected_twice_says_so_once():
    path = CASES / "lowered-strut.toml"
    wish = '\n[alignment]\nby = "strut-top"\ncamber_deg = -2.0\n'
    text, car = file_text(path) + wish, car_from_toml(file_text(path) + wish, "x")
    once = corrected_text(text, gauge(car, swept(car, seed=4)))
    assert once.count("Points corrected by gauge readings") == 1
    car = car_from_toml(once, "x")
    twice = corrected_text(once, gauge(car, swept(car, seed=4)))
    assert (
        twice.count("#") == once.count("#") == text.count("#") + 3
    )  # two notes, and one on what is left open


def test_a_sweep_with_another_extension_can_t_go_with_one_alignment(refused, tmp_path):
    case = tmp_path / "car.toml"
    wish = '\n[alignment]\nby = "strut-top"\ncamber_deg = -2.0\n'
    case.write_text(file_text(CASES / "lowered-strut.toml") + wish, encoding="utf-8")
    sweep = 'format = 1\nunits = "mm"\nkind = "angle"\nreadings = [[-9, 0.1], [0, 0], [9, -0.1]]\n'
    text = refused(sweep, sweep.replace("0.1", "0.2") + "ball_joint_drop = 30.0\n", case=case)
    assert "ball_joint_drop must be the same in all sweeps" in text


def test_of_a_list_of_extensions_the_one_that_was_swept_is_aligned_and_stays():
    text = file_text(CASES / "lowered-strut.toml") + "\n[lower_ball_joint]\ndrop = [0.0, 30.0]\n"
    car = car_from_toml(f'{text}\n[alignment]\nby = "strut-top"\ncamber_deg = -2.0\n', "x")
    joint = car.case.lower_ball_joint.model_copy(update={"drop": (30.0,)})
    fitted = Vehicle((car.case.model_copy(update={"lower_ball_joint": joint}),))
    (sweep,) = swept(fitted, seed=5)
    wheel = gauge(car, [sweep.model_copy(update={"ball_joint_drop": 30.0})]).wheels[0]
    assert wheel.fitted_points == gauge(fitted, [sweep]).wheels[0].fitted_points
    assert (wheel.next.ball_joint_drop_mm, wheel.next.linkage_changes) == (30.0, False)


LENGTHS = """
[[measured]]  # with a steel tape
between = ["tie_rod_inner", "tie_rod_outer"]
length = 372.0
accuracy = 0.5

[[measured]]
between = ["lower_ball_joint", "tie_rod_outer"]
length = 144.0
"""


def test_lengths_measured_beside_the_points_are_in_what_is_written_and_count_once():
    text = file_text(CASES / "lowered-strut.toml") + LENGTHS
    car = car_from_toml(text, "x")
    answer = gauge(car, swept(car, seed=1))
    written = corrected_text(text, answer)
    assert "# [[measured]]" in written
    assert "with a steel tape" in written
    then = car_from_toml(written, "x")
    assert then.case.measured == ()
    (wheel,) = answer.wheels
    for name, point in then.case.points.model_dump().items():
        assert point == pytest.approx(wheel.fitted_points[name], abs=0.006)
    # The lengths told something that the sweep did not, and it is still known.
    rod = ("tie_rod_inner", "tie_rod_outer")
    alone = Vehicle((car.case.model_copy(update={"measured": ()}),))
    without = car_from_toml(
        corrected_text(file_text(CASES / "lowered-strut.toml"), gauge(alone, swept(alone, 1))), "x"
    )
    known, open_ = (
        length_deviation(one.case, Evaluator.of(one.case).corner, *rod) for one in (then, without)
    )
    assert known < 0.52
    assert open_ > 1.5


def test_lengths_of_a_wheel_whose_readings_contradict_them_stay_as_they_were():
    text = file_text(CASES / "lowered-strut.toml") + LENGTHS
    car = car_from_toml(text, "x")
    answer = gauge(car, swept(car, seed=1))
    (wheel,) = answer.wheels
    odd = answer.model_copy(update={"wheels": [wheel.model_copy(update={"covariance_root": {}})]})
    assert "\n[[measured]]  # with a steel tape" in corrected_text(text, odd)


@pytest.mark.parametrize("means", ["strut-top", "upper-arm"])
def test_an_aligned_car_that_was_swept_is_as_sure_as_the_gauge_made_it(means):
    name, wish = WISHES[means]
    text = f'{file_text(CASES / f"{name}.toml")}\n[alignment]\nby = "{means}"\n{wish}'
    car = car_from_toml(text, name)
    answer = gauge(car, swept(car, seed=3))
    then = car_from_toml(corrected_text(text, answer), name)
    for case, written, wheel in zip(car.wheels, then.wheels, answer.wheels, strict=True):
        assert wheel.covariance_root
        by_tape = sampled_toe(Evaluator.of(aligned_case(case))).std(axis=0).max()
        after = sampled_toe(Evaluator.of(aligned_case(written))).std(axis=0).max()
        assert after < 0.2 * by_tape
