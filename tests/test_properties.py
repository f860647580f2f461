"""What must hold for any car: random cars of every layout, as cases, through the whole program."""

from copy import deepcopy
from typing import Any

import numpy as np
import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import car_from_toml, case_from_toml
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest, WheelCurve
from optimizer.units import MM_PER_INCH
from tests.optimizer.one_wheel import curve_of
from tests.random_cars import Table, cars, case_of, changes, settings_of, whole_hundredths

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
TURN_ATOL = 1e-12  # how far a rotation matrix may be from one


def assert_same_curve(one: WheelCurve, other: WheelCurve) -> None:
    """Every list of numbers, none of them with a gap, and the change of rod length."""
    assert one.notes == other.notes == []
    for name, found in one.model_dump().items():
        if name in ("side", "notes", "drift"):
            continue
        atol = LENGTH_ATOL_MM if name.endswith("_mm") else ANGLE_ATOL_DEG
        np.testing.assert_allclose(
            np.array(found, dtype=float),
            np.array(getattr(other, name), dtype=float),
            rtol=0,
            atol=atol,
            err_msg=name,
        )


# ---- what makes no difference ----


def mirrored(table: Table) -> Table:
    """The same suspension at the other side of the car; a rack still counts to the left."""
    other = deepcopy(table)
    for point in other["points"].values():
        point[1] = -point[1]
    other["outer_pivot"]["stud_axis"][1] *= -1.0
    x, y, z = other["steering"]["rack_axis"]
    other["steering"]["rack_axis"] = [-x, y, -z]
    return other


@settings(max_examples=30, deadline=None)
@given(table=cars(), change=changes)
def test_the_other_side_of_the_car_has_the_same_curve_with_the_rack_at_the_other_side(
    table, change
):
    one = curve_of(case_of(table), change)
    other = curve_of(
        case_of(mirrored(table)), change.model_copy(update={"rack_travel": -change.rack_travel})
    )
    assert {one.side, other.side} == {"left", "right"}
    assert_same_curve(one, other)


@settings(max_examples=30, deadline=None)
@given(
    table=cars(),
    change=changes,
    shift=st.tuples(
        whole_hundredths(-500.0, 500.0),
        whole_hundredths(0.0, 300.0),
        whole_hundredths(-100.0, 400.0),
    ),
)
def test_where_the_tape_measured_from_makes_no_difference(table, change, shift):
    """Wheel heights are differences too: only the tire's radius ties a car to the ground."""
    elsewhere = deepcopy(table)
    side = np.sign(table["points"]["wheel_center"][1])
    if table["layout"].endswith("-axle"):  # its middle plane is the car's own
        side = 0.0
    for name, point in table["points"].items():
        elsewhere["points"][name] = (np.array(point) + np.array(shift) * [1.0, side, 1.0]).tolist()
    assert_same_curve(curve_of(case_of(table), change), curve_of(case_of(elsewhere), change))


def in_inches(table: Table) -> str:
    """The text of the same case written in inches."""

    def scaled(value: Any) -> Any:
        if isinstance(value, list):
            return [scaled(item) for item in value]
        return value / MM_PER_INCH

    other = deepcopy(table) | {"units": "in"}
    other["points"] = {name: scaled(point) for name, point in table["points"].items()}
    for path in (
        ("wheel", "tire_radius"),
        ("ride", "lowered_by"),
        ("ride", "bump"),
        ("ride", "droop"),
        ("steering", "rack_travel"),
        ("lower_ball_joint", "drop"),
    ):
        if path[0] in table:
            other[path[0]][path[1]] = scaled(table[path[0]][path[1]])
    for key in ("min", "max", "step"):
        if "stack" in other["outer_pivot"]:
            other["outer_pivot"]["stack"][key] = scaled(table["outer_pivot"]["stack"][key])
    if "rack" in other:
        other["rack"]["spacers"] = scaled(table["rack"]["spacers"])
    return tomlkit.dumps(other)


@settings(max_examples=20, deadline=None)
@given(table=cars(), change=changes)
def test_a_case_in_inches_has_the_curve_of_its_twin_in_millimeters(table, change):
    inches = case_from_toml(in_inches(table), "inches.toml")
    millimeters = case_from_toml(tomlkit.dumps(table), "millimeters.toml")
    assert (inches.units, millimeters.units) == ("in", "mm")
    assert_same_curve(curve_of(millimeters, change), curve_of(inches, change))


@settings(max_examples=5, deadline=None)
@given(table=cars())
def test_a_case_in_inches_has_the_ranking_of_its_twin_in_millimeters(table):
    table = deepcopy(table)
    table["outer_pivot"]["stack"] = {"min": -5.0, "max": 20.0, "step": 0.5}
    table["rack"] = {"spacers": [-4.0, 0.0, 4.0]}
    one = suggest(car_from_toml(tomlkit.dumps(table), "millimeters.toml"))
    other = suggest(car_from_toml(in_inches(table), "inches.toml"))
    assert len(one.ranked) == len(other.ranked) > 3
    for here, there in zip(one.ranked, other.ranked, strict=True):
        (mine,), (twin,) = here.wheels, there.wheels
        for name in ("outer_drop_mm", "rack_raise_mm", "tie_rod_length_change_mm"):
            assert getattr(mine, name) == pytest.approx(
                getattr(twin, name), rel=0, abs=LENGTH_ATOL_MM
            )
        assert here.peak_toe_change_deg == pytest.approx(
            there.peak_toe_change_deg, rel=0, abs=ANGLE_ATOL_DEG
        )
    assert one.certificate.combinations == other.certificate.combinations


@settings(max_examples=20, deadline=None)
@given(
    table=cars(),
    rows=arrays(float, (7, 2), elements=whole_hundredths(-6.0, 20.0)),
)
def test_a_candidate_scores_the_same_alone_as_in_a_batch(table, rows):
    table = deepcopy(table)
    table["joint"] = {"outer": {"tilt_limit_deg": 20.0}, "inner": {"tilt_limit_deg": 25.0}}
    on_links, on_leaves = (name in table["points"] for name in ("link_1_inner", "spring_eye"))
    arms = "suspension-links" if on_links else "leaf-spring" if on_leaves else "lower-arm"
    table["obstacles"] = [{"kind": arms, "diameter": 30.0}]
    choices = [0.0, 12.5, 25.0]
    if on_leaves:
        table["leaf_spring"] = {"lift_block": choices}
    elif not on_links:
        table["lower_ball_joint"] = {"drop": choices}
    evaluator = Evaluator.of(case_of(table))
    linkages = np.array([0, 2, 0, 1, 2, 0, 1]) * (not on_links)
    batch = Settings(rows[:, 0], rows[:, 1], linkages)
    together = [
        evaluator.toe_change_estimate(batch),
        evaluator.toe_change(batch),
        evaluator.rod_length(batch),
        *(limit.margin for limit in margins(evaluator, batch)),
    ]
    for k in range(len(batch)):
        single = batch.rows(np.array([k]))
        alone = [
            evaluator.toe_change_estimate(single),
            evaluator.toe_change(single),
            evaluator.rod_length(single),
            *(limit.margin for limit in margins(evaluator, single)),
        ]
        for one, many in zip(alone, together, strict=True):
            np.testing.assert_allclose(one[0], many[k], rtol=0, atol=LENGTH_ATOL_MM)


# ---- heights and rod lengths ----


@settings(max_examples=30, deadline=None)
@given(table=cars(), change=changes, lowered_by=whole_hundredths(-20.0, 40.0))
def test_a_lowered_car_stands_where_the_measured_car_stands_in_bump(table, change, lowered_by):
    """With the rods left as they are: height is height, however it came about."""
    table = deepcopy(table)
    table["ride"]["lowered_by"] = 0.0
    case = case_of(table)
    change = change.model_copy(update={"keep_rod_length": True, "step": 10.0})
    # Steps are counted from ride height, so both curves get their heights from one list.
    travel = np.array(curve_of(case, change).travel_mm)
    measured = Evaluator.of(case, travel).motion(
        settings_of(change), travel + lowered_by, change.rack_travel, _kept_length(case)
    )
    lowered_case = case.model_copy(
        update={"ride": case.ride.model_copy(update={"lowered_by": lowered_by})}
    )
    lowered = Evaluator.of(lowered_case, travel).motion(
        settings_of(change), travel, change.rack_travel, _kept_length(case)
    )
    np.testing.assert_array_equal(lowered.reach, measured.reach)
    np.testing.assert_allclose(lowered.rotation, measured.rotation, rtol=0, atol=TURN_ATOL)
    np.testing.assert_allclose(
        lowered.translation, measured.translation, rtol=0, atol=LENGTH_ATOL_MM
    )
    followed = curve_of(case, change.model_copy(update={"lowered_by": lowered_by}))
    spin = lowered.rotation[0] @ Evaluator.of(case).corner.spin
    np.testing.assert_allclose(
        followed.toe_deg,
        np.degrees(np.arctan2(spin[:, 0], spin[:, 1])),
        rtol=0,
        atol=ANGLE_ATOL_DEG,
    )


def _kept_length(case: Case) -> Any:
    return np.array([np.linalg.norm(np.subtract(*_rod_ends(case)))])


def _rod_ends(case: Case) -> tuple[Any, Any]:
    return case.points.rod_outer, case.points.rod_inner


@settings(max_examples=30, deadline=None)
@given(table=cars(), change=changes)
def test_toe_is_reset_at_ride_height_unless_the_rod_length_is_kept(table, change):
    case = case_of(table)
    straight = {"rack_travel": 0.0}
    reset, kept = (
        curve_of(case, change.model_copy(update=straight | {"keep_rod_length": keep}))
        for keep in (False, True)
    )
    home = reset.travel_mm.index(0.0)
    assert reset.toe_deg[home] == pytest.approx(case.ride.toe_deg, rel=0, abs=ANGLE_ATOL_DEG)
    assert kept.tie_rod_length_change_mm == 0.0
    longer = reset.tie_rod_length_change_mm
    # A longer rod behind the axle pushes the wheel toe-in, and ahead of it toe-out.
    arms = +1.0 if Evaluator.of(case).corner.arms_ahead else -1.0
    if abs(longer) > LENGTH_ATOL_MM:
        assert np.sign(kept.toe_deg[home] - reset.toe_deg[home]) == arms * np.sign(longer)


@settings(max_examples=20, deadline=None)
@given(table=cars(), change=changes)
def test_the_rod_length_of_straight_ahead_is_kept_while_steering(table, change):
    case = case_of(table)
    straight = curve_of(case, change.model_copy(update={"rack_travel": 0.0}))
    steered = curve_of(case, change)
    assert steered.tie_rod_length_change_mm == straight.tie_rod_length_change_mm


@settings(max_examples=20, deadline=None)
@given(table=cars())
def test_keeping_the_rod_length_is_resetting_to_the_toe_that_the_car_then_has(table):
    table = deepcopy(table)
    kept = curve_of(case_of(table), CurveRequest(keep_rod_length=True, outer_drop=8.0))
    table["ride"]["toe_deg"] = kept.toe_deg[kept.travel_mm.index(0.0)]
    reset = curve_of(case_of(table), CurveRequest(outer_drop=8.0))
    assert_same_curve(kept, reset)
