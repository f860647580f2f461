"""Lengths measured beside the points: fitted together with the tape, and counted everywhere."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from optimizer.car.adjust import corner_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import toe_spread
from optimizer.car.settings import Settings
from optimizer.car.tape import case_by_lengths, length_deviation, point_names, tape_root
from optimizer.cli.main import main
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.files.toml_file import file_text

ROD = ("tie_rod_inner", "tie_rod_outer")
ARM = ("lower_ball_joint", "tie_rod_outer")


@pytest.fixture
def strut(demo_text):
    """The demo strut with some lengths measured beside its points."""

    def case(*lengths: str):
        return case_from_toml(demo_text + "".join(f"\n[[measured]]\n{x}\n" for x in lengths), "car")

    return case


@pytest.fixture
def demo_text(request):
    return file_text(request.config.rootpath / "cases" / "lowered-strut.toml")


def between(names, length, accuracy=1.0):
    return f"between = {list(names)}\nlength = {length}\naccuracy = {accuracy}".replace("'", '"')


def distance(case, names):
    first, second = (np.array(getattr(case.points, name)) for name in names)
    return float(np.linalg.norm(second - first))


def test_a_length_that_the_points_have_moves_none_and_narrows_what_is_known(strut):
    plain = strut()
    case = strut(between(ROD, distance(plain, ROD), 0.5))
    now = case_by_lengths(case)
    for name, point in plain.points.model_dump().items():
        assert getattr(now.points, name) == pytest.approx(point, abs=1e-9)
    # Two ends of 2 mm along the rod make 2.83 mm; with 0.5 mm by tape 0.492.
    found = length_deviation(case, Evaluator.of(case).corner, *ROD)
    assert found == pytest.approx((8.0**-1 + 0.5**-2) ** -0.5, rel=1e-9)
    assert length_deviation(plain, corner_of(plain), *ROD) == pytest.approx(8.0**0.5, rel=1e-9)


def test_points_go_where_the_least_squares_of_tape_and_lengths_have_them(strut):
    plain = strut()
    rise = 'between = ["floor", "strut_top"]\nrise = 832.0\naccuracy = 1.5'
    lengths = {ROD: distance(plain, ROD) + 4.0, ARM: distance(plain, ARM) - 3.0}
    case = strut(*(between(names, length) for names, length in lengths.items()), rise)
    now = case_by_lengths(case)
    names = list(plain.points.model_dump())
    typed = np.array([getattr(plain.points, name) for name in names])
    radius = plain.wheel.tire_radius

    def misses(flat):
        places = dict(zip(names, flat.reshape(-1, 3), strict=True))
        missed = [
            np.linalg.norm(places[second] - places[first]) - length
            for (first, second), length in lengths.items()
        ]
        ground = places["wheel_center"][2] - radius
        missed.append((places["strut_top"][2] - ground - 832.0) / 1.5)
        return np.concatenate([(flat - typed.ravel()) / 2.0, missed])

    best = least_squares(misses, typed.ravel(), xtol=1e-15, ftol=1e-15, gtol=1e-15)
    found = np.array([getattr(now.points, name) for name in names])
    np.testing.assert_allclose(found, best.x.reshape(-1, 3), atol=1e-5)
    inverse = np.linalg.inv(best.jac.T @ best.jac)
    corner = Evaluator.of(case).corner
    root = tape_root(now, corner)
    order = [3 * names.index(name) + axis for name in point_names(corner) for axis in range(3)]
    np.testing.assert_allclose(root @ root.T, inverse[np.ix_(order, order)], atol=1e-5)


def test_what_was_fitted_once_moves_no_point_again(strut):
    now = case_by_lengths(strut(between(ROD, 380.0)))
    again = case_by_lengths(now)
    for name, point in now.points.model_dump().items():
        assert getattr(again.points, name) == pytest.approx(point, abs=1e-9)


def test_a_right_wheel_is_the_mirror_image_of_a_left_one(strut):
    case = strut(between(ROD, 380.0))
    mirrored = {name: (x, -y, z) for name, (x, y, z) in case.points.model_dump().items()}
    right = case.model_copy(update={"points": type(case.points).model_validate(mirrored)})
    left_now, right_now = case_by_lengths(case), case_by_lengths(right)
    for name, (x, y, z) in left_now.points.model_dump().items():
        assert getattr(right_now.points, name) == pytest.approx((x, -y, z), abs=1e-9)


def test_the_arm_measured_makes_the_answer_surer(strut):
    plain = strut()
    case = strut(between(ARM, distance(plain, ARM), 0.5), between(ROD, distance(plain, ROD), 0.5))
    assert toe_spread(Evaluator.of(case)) < toe_spread(Evaluator.of(plain))
    settings = Settings.single()
    expected = Evaluator.of(plain).toe_change(settings)
    np.testing.assert_allclose(Evaluator.of(case).toe_change(settings), expected, atol=1e-9)


@pytest.mark.parametrize("layout", ["track-wishbone", "five-link-front", "lifted-beam-axle"])
def test_every_layout_takes_lengths(request, layout):
    path = request.config.rootpath / "cases" / f"{layout}.toml"
    plain = read_case(path)
    names = list(plain.points.model_dump())[:2]
    length = between(names, distance(plain, names) + 3.0)
    case = case_from_toml(file_text(path) + f"\n[[measured]]\n{length}\n", "car")
    assert distance(Evaluator.of(case).case, names) > distance(plain, names) + 1.0


@pytest.mark.parametrize(
    ("typed", "fault"),
    [
        ('between = ["tie_rod_inner", "tie_rod_outr"]\nlength = 3', "did you mean tie_rod_outer?"),
        ('between = ["floor", "strut_top"]\nlength = 830', "must be given as rise where"),
        ('between = ["strut_top", "strut_top"]\nlength = 830', "must be two different points"),
        ('between = ["strut_top"]\nlength = 830', "must be two names in a list"),
        ('between = ["strut_top", "strut_axis"]', "must be given, or rise in its place"),
        ('between = ["strut_top", "strut_axis"]\nlength = 4\naccuracy = 0', "must be above 0"),
    ],
)
def test_a_length_that_can_t_be_is_refused_with_its_place(
    tmp_path, capsys, demo_text, typed, fault
):
    path = tmp_path / "car.toml"
    path.write_text(f"{demo_text}\n[[measured]]\n{typed}\n", encoding="utf-8")
    assert main(["check", str(path)]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "measured[1]" in said
    assert fault in said


def test_a_length_that_the_points_miss_by_far_is_doubted(tmp_path, capsys, demo_text):
    path = tmp_path / "car.toml"
    path.write_text(f"{demo_text}\n[[measured]]\n{between(ROD, 392.0)}\n", encoding="utf-8")
    assert main(["check", str(path)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "says 392.0 mm, but the points make it 370.2 mm: 7.3 standard" in said
