"""Errors of the tape that points have in common: one covariance, wherever sigma enters."""

import re

import numpy as np
import pytest

from optimizer.answers.uncertainty import uncertainty
from optimizer.car.adjust import mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.sampled import moved_corner, sampled_toe
from optimizer.car.settings import Settings
from optimizer.car.tape import length_deviation, point_names, tape_root
from optimizer.errors import CaseFileError
from optimizer.files.case_file import car_from_toml, case_from_toml
from optimizer.files.readings_file import read_readings
from optimizer.files.starters import starter_case
from optimizer.gauging.loop import gauge
from optimizer.models.case import Case
from tests.optimizer.command_line import CASES

STARTER = starter_case("strut")
POINTS = list(case_from_toml(STARTER, "starter").points.model_dump())
SIZE = 3 * len(POINTS)


def with_root(root, text=STARTER, order=POINTS):
    """The case with a covariance, its points named in any order."""
    lines = "\n".join(
        f"{name} = [{', '.join(str([round(float(x), 6) for x in root[k][: k + 1]]) for k in rows)}]"
        for name, rows in zip(order, np.arange(len(root)).reshape(-1, 3).tolist(), strict=False)
    )
    return f"{text}\n[accuracy.covariance_root]\n{lines}\n"


def root_of(seed=1):
    spread = np.random.default_rng(seed).normal(size=(SIZE, 2 * SIZE)) * 0.3
    root = np.linalg.cholesky(spread @ spread.T + np.eye(SIZE))
    return np.round(root, 6)


def mirrored(text):
    return re.sub(r"(?m)^(\w+ *= \[ *-?[\d.]+,) *([\d.]+),", r"\1 -\2,", text)


@pytest.mark.parametrize("text", [STARTER, mirrored(STARTER)], ids=["left", "right"])
def test_points_are_moved_with_the_covariance_that_the_case_states(text):
    root = root_of()
    evaluator = Evaluator.of(case_from_toml(with_root(root, text), "case"))
    names = point_names(evaluator.corner)
    cars = moved_corner(evaluator, np.eye(SIZE).reshape(SIZE, -1, 3))
    by = np.stack([cars.measured[name] - evaluator.corner.measured[name] for name in POINTS], 2)
    by = by[:, 0] * mirror_of(evaluator.case)[:, None][None, :, 0][:, None]
    moved = by.reshape(SIZE, SIZE)
    assert {*names} == {*POINTS}
    np.testing.assert_allclose(moved.T @ moved, root @ root.T, atol=1e-9)


def spread_of(evaluator, seed):
    return uncertainty(ManyCars.drawn(evaluator, seed), Settings.single())


def test_a_diagonal_covariance_is_the_accuracy_by_point():
    diagonal = np.diag(np.tile([1.0, 2.0, 0.5], len(POINTS)))
    together = Evaluator.of(case_from_toml(with_root(diagonal), "case"))
    named = "\n".join(f"{name} = [1.0, 2.0, 0.5]" for name in POINTS)
    apart = Evaluator.of(case_from_toml(f"{STARTER}\n[accuracy.points]\n{named}\n", "case"))
    np.testing.assert_array_equal(
        tape_root(together.case, together.corner), tape_root(apart.case, apart.corner)
    )
    assert spread_of(together, 3) == spread_of(apart, 3)
    assert [together.case.accuracy.of(name) for name in POINTS] == [(1.0, 2.0, 0.5)] * len(POINTS)


def test_an_error_that_all_points_share_leaves_toe_as_sure_as_it_was():
    alone = np.eye(SIZE) * 0.2
    shifted = alone.copy()
    shifted[:, 0] += np.tile([20.0, 0.0, 0.0], len(POINTS))  # x counted from 20 mm farther ahead
    same, moved, apart = (
        spread_of(Evaluator.of(case_from_toml(text, "case")), 3)
        for text in (
            with_root(alone),
            with_root(shifted),
            f"{STARTER}\n[accuracy]\npoints = 20.0\n",
        )
    )
    assert moved.peak_95_deg == pytest.approx(same.peak_95_deg, rel=1e-3)
    assert apart.peak_95_deg > 5.0 * same.peak_95_deg


def test_a_length_is_as_sure_as_its_ends_are_together():
    shared = np.eye(SIZE) * 1e-3
    shared[:, 1] += np.tile([0.0, 5.0, 0.0], len(POINTS))
    case = case_from_toml(with_root(shared), "case")
    evaluator = Evaluator.of(case)
    deviation = length_deviation(case, evaluator.corner, "tie_rod_inner", "tie_rod_outer")
    assert deviation == pytest.approx(2**0.5 * 1e-3, rel=0.01)


def test_points_may_be_named_in_any_order_for_the_rows_say_which_is_first():
    text = with_root(root_of())
    head, rows = text.split("[accuracy.covariance_root]\n")
    turned = "\n".join(reversed(rows.strip().splitlines()))
    assert case_from_toml(f"{head}[accuracy.covariance_root]\n{turned}\n", "case") == (
        case_from_toml(text, "case")
    )


def test_a_covariance_in_inches_is_that_in_millimeters():
    root = root_of()
    case = Case.model_validate(
        {
            **case_from_toml(STARTER, "case").model_dump(exclude_unset=True, by_alias=True),
            "accuracy": {"covariance_root": {POINTS[0]: [[1.0], [0.0, 2.0], [0.0, 1.5, 2.0]]}},
        },
        context={"units": "mm"},
    )
    assert case.accuracy.of(POINTS[0]) == (1.0, 2.0, 2.5)
    assert case.accuracy.of(POINTS[1]) == (2.0, 2.0, 2.0)
    accuracy = type(case.accuracy).model_validate(
        {"covariance_root": {POINTS[0]: [[1.0], [0.0, 2.0], [0.0, 1.5, 2.0]]}},
        context={"units": "in"},
    )
    assert accuracy.of(POINTS[0]) == pytest.approx((25.4, 50.8, 63.5))
    assert root.shape == (SIZE, SIZE)


GOOD = "[[1.0], [0.0, 1.0], [0.0, 0.0, 1.0]]"


@pytest.mark.parametrize(
    ("table", "fault"),
    [
        (f"strut_tip = {GOOD}", r"accuracy\.covariance_root\.strut_tip +is not a known key"),
        ("strut_top = 2.0", r"root\.strut_top +must be three rows of numbers, for x, y and z"),
        ("strut_top = [1.0, 1.0, 1.0]", r"root\.strut_top +must be three rows of numbers"),
        ("strut_top = [[1.0], [0.0, 1.0], [0.0, 1.0]]", r"rows of 1, 2 and 3 numbers, got 1, 2, 2"),
        (f"strut_top = {GOOD}\nstrut_axis = {GOOD}", r"rows of 4, 5 and 6 numbers, got 1, 2, 3"),
        ("strut_top = [[1.0], [0.0, 0.0], [0.0, 0.0, 1.0]]", r"must have rows that end above 0"),
        ("strut_top = [[1.0], [0.0, 200.0], [0.0, 0.0, 1.0]]", r"within 100 mm in all of a row"),
        ('strut_top = [["1"], [0.0, 2.0], [0.0, 0.0, 1.0]]', r'must be a number, got "1"'),
    ],
)
def test_a_covariance_that_can_t_be_is_refused_by_its_point(table, fault):
    with pytest.raises(CaseFileError, match=fault):
        case_from_toml(f"{STARTER}\n[accuracy.covariance_root]\n{table}\n", "case")


@pytest.mark.parametrize(
    ("typed", "fault"),
    [
        ("points = { strut_top = 1.0 }", r"must not stand in accuracy\.points as well"),
        ('x = "unknown"', r'covariance_root +must be left out where x = "unknown"'),
    ],
)
def test_a_covariance_beside_another_word_on_the_same_points_is_refused(typed, fault):
    text = f"{STARTER}\n[accuracy]\n{typed}\ncovariance_root = {{ strut_top = {GOOD} }}\n"
    text = text.replace('#arms = "behind"', 'arms = "behind"').replace("#[steering]", "[steering]")
    with pytest.raises(CaseFileError, match=fault):
        case_from_toml(text, "case")


def test_both_wheels_do_not_share_a_covariance():
    case = case_from_toml(STARTER, "case").points.model_dump()
    sides = "".join(
        f"[{side}.points]\n"
        + "".join(f"{n} = [{x}, {s * y}, {z}]\n" for n, (x, y, z) in case.items())
        for side, s in (("left", 1), ("right", -1))
    )
    text = re.sub(r"(?ms)^\[points\].*?(?=^\[wheel\])", sides, STARTER)
    car_from_toml(text, "car")
    with pytest.raises(CaseFileError, match=r"must stand under \[left\] and \[right\]"):
        car_from_toml(f"{text}\n[accuracy.covariance_root]\nstrut_top = {GOOD}\n", "car")


def test_a_mirrored_wheel_with_its_covariance_mirrored_is_as_sure():
    root = root_of()
    signs = np.tile([1.0, -1.0, 1.0], len(POINTS))
    left = Evaluator.of(case_from_toml(with_root(root), "left"))
    right = Evaluator.of(
        case_from_toml(with_root(signs[:, None] * root * signs, mirrored(STARTER)), "right")
    )
    assert (left.case.side, right.case.side) == ("left", "right")
    # The same errors of the tape; those of the build are drawn for a left wheel and a right one.
    one, other = spread_of(left, 5), spread_of(right, 5)
    assert one.remeasure == other.remeasure
    assert one.peak_median_deg == pytest.approx(other.peak_median_deg, rel=0.02)
    assert one.peak_95_deg == pytest.approx(other.peak_95_deg, rel=0.02)


def test_what_to_measure_again_counts_what_a_point_shares_with_others():
    """The best coordinate to know is the one whose knowledge takes most of the spread away."""
    evaluator = Evaluator.of(case_from_toml(with_root(root_of()), "case"))
    told = spread_of(evaluator, 3)
    names, root = point_names(evaluator.corner), tape_root(evaluator.case, evaluator.corner)
    step = 1e-3
    nudges = np.concatenate([step * np.eye(SIZE), -step * np.eye(SIZE)]).reshape(-1, SIZE // 3, 3)
    travel = evaluator.travel[[0, evaluator.home, -1]]
    toe = sampled_toe(evaluator, moved_corner(evaluator, nudges), Settings.single(), travel)
    change = (toe[:, [0, 2]] - toe[:, [1]]).reshape(2, SIZE, 2)
    rates = np.linalg.solve(root.T, (change[0] - change[1]) / (2.0 * step))  # per millimeter
    covariance = root @ root.T
    spread = np.trace(rates.T @ covariance @ rates)

    def left_with(k):
        """Spread of the toe change when coordinate k is known exactly."""
        known = np.outer(covariance[k], covariance[k]) / covariance[k, k]
        return float(np.trace(rates.T @ (covariance - known) @ rates))

    best = min(range(SIZE), key=left_with)
    assert told.remeasure == f"{names[best // 3]} {'xyz'[best % 3]}"
    assert told.remeasure_share == pytest.approx(1.0 - left_with(best) / spread, abs=0.05)


def test_the_next_stack_is_the_same_where_points_share_an_error_that_moves_no_curve(tmp_path):
    text = re.sub(
        r"(?ms)^\[accuracy\].*?(?=^\[|\Z)", "", (CASES / "lowered-strut.toml").read_text("utf-8")
    )
    names = list(case_from_toml(text, "case").points.model_dump())
    alone = np.eye(SIZE) * 2.0
    shared = alone.copy()
    shared[:, 0] += np.tile([30.0, 0.0, 0.0], len(names))
    readings = [read_readings(CASES / "readings" / "lowered-strut.toml")]
    one, other = (
        gauge(car_from_toml(with_root(root, text, names), "case"), readings).wheels[0]
        for root in (alone, shared)
    )
    assert one.next is not None
    assert (one.next.outer_drop_mm, one.next.rack_raise_mm) == (
        other.next.outer_drop_mm,
        other.next.rack_raise_mm,
    )
    assert other.next.peak_toe_change_deg == pytest.approx(one.next.peak_toe_change_deg, abs=2e-3)
    told = [
        {(moved.point, moved.axis): moved.by_mm for moved in wheel.moved} for wheel in (one, other)
    ]
    assert told[0]
    assert told[0] == pytest.approx(told[1], abs=0.05)
