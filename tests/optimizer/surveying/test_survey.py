"""Surveys of invented cars: points, their covariance, and mistakes that are found."""

from math import dist

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import chi2

from optimizer.errors import CaseFileError
from optimizer.files.survey_file import survey_from_toml
from optimizer.models.survey import Floor, SurveyRow
from optimizer.models.surveyed import (
    FloorNotRead,
    StandsApart,
    StillBlank,
    Unchecked,
)
from optimizer.surveying.survey import survey
from tests.optimizer.surveying.invented_surveys import (
    FLOOR,
    LAYOUTS,
    PLUMB,
    TAPE,
    A,
    Garage,
    doubts_of,
    file_text,
    found_points,
    surveyed,
    with_reading,
)

LOST_MM = 20.0


def true_points(garage, answer):
    """The car's points from the origin of an answer: A is where the answer has it."""
    moved = answer.base_mm[0] - A
    placed = np.array([garage.points[point.name] for point in answer.points])
    return placed + np.array([moved, 0.0, 0.0])


def root_of(answer):
    rows = [row for of_point in answer.covariance_root.values() for row in of_point]
    root = np.zeros((len(rows), len(rows)))
    for k, row in enumerate(rows):
        root[k, : k + 1] = row
    return root


@pytest.mark.parametrize("side", [1.0, -1.0], ids=["left", "right"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_readings_without_error_give_the_points_that_they_are_of(layout, side):
    garage = Garage.of(layout, side=side)
    answer = survey(surveyed(garage, layout))
    np.testing.assert_allclose(found_points(answer), true_points(garage, answer), atol=1e-6)
    assert answer.noise == pytest.approx(0.0, abs=1e-6)
    assert next(p.at_mm[0] for p in answer.points if p.name == "wheel_center") == 0.0
    assert [type(one) for one in answer.doubts] == [FloorNotRead]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_survey_typed_into_a_file_is_the_same_beyond_the_center_line_too(layout, units):
    garage = Garage.of(layout)
    typed = file_text(surveyed(garage, layout).model_copy(update={"units": units}))
    answer = survey(survey_from_toml(typed, layout))
    np.testing.assert_allclose(found_points(answer), true_points(garage, answer), atol=1e-4)
    assert [type(one) for one in answer.doubts] == [FloorNotRead]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_blank_survey_of_a_layout_has_every_reading_checked_by_others(layout):
    answer = survey(surveyed(Garage.of(layout), layout))
    assert len(answer.readings) >= 2 * answer.freedom / 1.5
    assert max(one.least_found for one in answer.readings) < LOST_MM
    assert max(max(point.sigma_mm) for point in answer.points) < 2.0


@pytest.mark.parametrize("slope", [(0.8, -0.5)])
def test_a_floor_that_slopes_is_taken_out_where_a_level_was_laid_on_it(slope):
    garage = Garage.of("strut", slope=slope)
    read = surveyed(
        garage,
        "strut",
        rises=(
            SurveyRow(
                names=("tie_rod_inner", "strut_top"),
                values=(garage.read("rise", ("tie_rod_inner", "strut_top")),),
            ),
        ),
        slopes=(
            SurveyRow(
                names=("tie_rod_inner", "tie_rod_outer"),
                values=(garage.read("slope", ("tie_rod_inner", "tie_rod_outer")),),
            ),
        ),
    )
    level = survey(read)
    floor = Floor(rises_forward_deg=slope[0], rises_left_deg=slope[1])
    answer = survey(read.model_copy(update={"floor": floor}))
    np.testing.assert_allclose(found_points(answer), true_points(garage, answer), atol=1e-3)
    assert np.abs(found_points(level) - true_points(garage, level)).max() > 3.0
    assert not doubts_of(answer, FloorNotRead)
    worst = [max(max(p.sigma_mm) for p in one.points) for one in (level, answer)]
    assert worst[1] > worst[0]  # 0.1 deg of the level, at the height of the strut's top


def test_points_and_covariance_are_those_of_scipy_in_other_unknowns():
    """Cylindrical points about A, plumb lines and floor as errors among the unknowns."""
    rng = np.random.default_rng(11)
    garage = Garage.of("strut", rng)
    read = surveyed(garage, "strut", rng)
    answer = survey(read)
    names = [point.name for point in answer.points]

    def points_of(unknowns):
        around = unknowns[: 3 * len(names)].reshape(-1, 3) * [100.0, 1.0, 100.0]
        far, angle, up = around.T
        return np.stack([-far * np.cos(angle), far * np.sin(angle), up], axis=-1)

    def misfit(unknowns):
        points = points_of(unknowns)
        tied = unknowns[3 * len(names) : -1].reshape(-1, 3)
        at = {name: points[k] for k, name in enumerate(names)}
        mark = {name: points[k, :2] + PLUMB * tied[k, :2] for k, name in enumerate(names)}
        mark |= {"A": np.zeros(2), "B": np.array([-100.0 * unknowns[-1], 0.0])}
        low = {name: FLOOR * tied[k, 2] for k, name in enumerate(names)}
        said = {
            "heights": lambda n: at[n[0]][2] - low[n[0]],
            "center_line": lambda n: mark[n[0]][1],
            "marks": lambda n: dist(mark[n[0]], mark[n[1]]),
            "lengths": lambda n: dist(at[n[0]], at[n[1]]),
        }
        left = [
            (value - of(row.names)) / TAPE
            for key, of in said.items()
            for row in getattr(read, key)
            for value in row.values
        ]
        return np.concatenate([left, tied.ravel()])

    truth = np.array([garage.points[name] for name in names]) - [A, 0.0, 0.0]
    start = np.stack(
        [
            np.hypot(*truth[:, :2].T) / 100.0,
            np.arctan2(truth[:, 1], -truth[:, 0]),
            truth[:, 2] / 100.0,
        ],
        axis=-1,
    ).ravel()
    start = np.concatenate([start, np.zeros(3 * len(names)), [18.0]])
    best = least_squares(misfit, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    np.testing.assert_allclose(
        points_of(best.x) + np.array([answer.base_mm[0], 0.0, 0.0]),
        found_points(answer),
        atol=1e-4,
    )
    assert 2.0 * best.cost == pytest.approx(answer.noise**2 * answer.freedom, rel=1e-6)
    step = 1e-5
    turned = np.stack(
        [
            ((points_of(best.x + h) - points_of(best.x - h)) / (2.0 * step)).ravel()
            for h in step * np.eye(best.x.size)
        ],
        axis=-1,
    )
    spread = turned @ np.linalg.inv(best.jac.T @ best.jac) @ turned.T
    root = root_of(answer)
    np.testing.assert_allclose(root @ root.T, spread, atol=2e-4)


def off_by(garage, answer):
    """Errors of the points, weighed by their covariance: chi-square of 3 P."""
    errors = np.linalg.solve(
        root_of(answer), (found_points(answer) - true_points(garage, answer)).ravel()
    )
    return float(errors @ errors), errors.size


def study(layout, count):
    """What became of `count` clean surveys of a car, and of as many with one reading spoiled.

    Chi-square of the points and its freedom, the share of clean surveys in which something is
    blamed, and the shares of spoiled ones in which the reading is blamed alone, or as one of two.
    """
    squares, blamed, alone, of_two = [], 0, 0, 0
    for seed in range(count):
        rng = np.random.default_rng([seed, LAYOUTS.index(layout)])
        garage = Garage.of(layout, rng)
        read = surveyed(garage, layout, rng)
        answer = survey(read)
        blamed += bool(doubts_of(answer, StandsApart))
        if not doubts_of(answer, StandsApart):
            squares.append(off_by(garage, answer))
        one = answer.readings[int(rng.integers(len(answer.readings)))]
        by = LOST_MM * float(rng.choice([-1.0, 1.0]))
        key, place = one.location.partition("[")[0], 0
        row = getattr(read, key)[int(one.location.partition("[")[2].rstrip("]")) - 1]
        place = row.values.index(one.read)
        spoiled = survey(with_reading(read, key, row.names, lambda value, by=by: value + by, place))
        told = doubts_of(spoiled, StandsApart)
        accused = [getattr(x, "location", None) for x in (told[0].explanations[:2] if told else ())]
        alone += len(told) == 1 and accused[:1] == [one.location]
        of_two += one.location in accused
    freedom = squares[0][1]
    return np.array([x for x, _ in squares]), freedom, blamed / count, alone / count, of_two / count


def check_study(layout, count):
    squares, freedom, blamed, alone, of_two = study(layout, count)
    low, high = chi2.ppf([0.0005, 0.9995], freedom * squares.size) / (freedom * squares.size)
    mean = squares.mean() / freedom
    print(  # noqa: T201
        f"{layout:16} {count} surveys: chi-square / {freedom} = {mean:.3f} ({low:.3f} to "
        f"{high:.3f}); within 95 %: {np.mean(squares < chi2.ppf(0.95, freedom)):.3f}; clean blamed "
        f"{blamed:.3f}; 20 mm found {of_two:.3f}, alone {alone:.3f}"
    )
    assert low < mean < high
    assert 0.95 - 4.0 * (0.05 * 0.95 / squares.size) ** 0.5 < np.mean(
        squares < chi2.ppf(0.95, freedom)
    )
    assert blamed <= max(0.05, 2.0 / count)
    assert of_two >= min(0.95, 1.0 - 2.0 / count)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_few_surveys_are_as_sure_as_they_say_and_their_mistakes_are_found(layout):
    check_study(layout, 8)


@pytest.mark.slow
@pytest.mark.parametrize("layout", LAYOUTS)
def test_five_hundred_surveys_are_as_sure_as_they_say_and_their_mistakes_are_found(layout):
    check_study(layout, 500)


def test_readings_that_nothing_checks_are_named():
    garage = Garage.of("strut")
    read = surveyed(garage, "strut", lengths=())
    heights = tuple(row.model_copy(update={"values": row.values[:1]}) for row in read.heights)
    answer = survey(read.model_copy(update={"heights": heights}))
    (unchecked,) = doubts_of(answer, Unchecked)
    assert {names for kind, names in unchecked.rows if kind == "height"} == {
        row.names for row in heights
    }
    assert all(one.least_found is None for one in answer.readings if one.kind == "height")


def test_blank_rows_are_counted_and_do_no_harm():
    garage = Garage.of("strut")
    read = surveyed(garage, "strut")
    blank = tuple(row.model_copy(update={"values": ()}) for row in read.lengths)
    answer = survey(read.model_copy(update={"lengths": blank}))
    assert doubts_of(answer, StillBlank) == [StillBlank(rows=len(blank))]
    np.testing.assert_allclose(found_points(answer), true_points(garage, answer), atol=1e-6)


@pytest.mark.parametrize(
    ("key", "kept", "fault"),
    [
        ("heights", lambda row: row.names != ("strut_top",), r"strut_top +can't be placed yet"),
        ("marks", lambda row: {*row.names} != {"A", "B"}, r'marks +must hold a reading of \["A"'),
    ],
)
def test_a_point_that_nothing_holds_is_named_with_what_is_known_of_it(key, kept, fault):
    read = surveyed(Garage.of("strut"), "strut", lengths=())
    rows = tuple(row for row in getattr(read, key) if kept(row))
    with pytest.raises(CaseFileError, match=fault):
        survey(read.model_copy(update={key: rows}), "car.toml")


def test_a_mark_by_one_distance_is_open_and_by_two_is_placed():
    garage = Garage.of("strut")
    read = surveyed(garage, "strut", lengths=())

    def of(row):
        return "strut_top" in row.names

    center = tuple(row for row in read.center_line if not of(row))
    others = [row for row in read.marks if not of(row)]
    two = [row for row in read.marks if of(row)][1:3]
    for marks, is_open in ((two[:1], True), (two, False)):
        less = read.model_copy(update={"center_line": center, "marks": (*others, *marks)})
        if is_open:
            with pytest.raises(CaseFileError, match=r"1 distance of its mark read"):
                survey(less)
        else:
            answer = survey(less)
            np.testing.assert_allclose(found_points(answer), true_points(garage, answer), atol=1e-5)


@pytest.mark.parametrize("side", [1.0, -1.0], ids=["left", "right"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_wheel_that_comes_out_at_the_other_side_than_was_said_is_refused(layout, side):
    read = surveyed(Garage.of(layout, side=side), layout)
    mirrored = tuple(
        row.model_copy(update={"values": tuple(-x for x in row.values)}) for row in read.center_line
    )
    other = "right" if side > 0.0 else "left"
    with pytest.raises(CaseFileError, match=f"side +must be .* to the {other} by center_line"):
        survey(read.model_copy(update={"center_line": mirrored}))
