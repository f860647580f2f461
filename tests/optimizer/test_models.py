"""Models of a case: what they hold, where their limits lie, what they say when used from Python."""

import copy
import re
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from optimizer.errors import Fault
from optimizer.models.base import faults_in, location
from optimizer.models.case import Case

from .case_texts import GOOD_CASES

LENGTH_ATOL_MM = 1e-9
STRUT = tomllib.loads(GOOD_CASES["strut"].read_text(encoding="utf-8"))
DOUBLE_WISHBONE = tomllib.loads(GOOD_CASES["double-wishbone"].read_text(encoding="utf-8"))


def with_values(table, **values):
    """A copy of a case's table with values replaced: ``ride__bump=3.0`` for ``ride.bump``."""
    table = copy.deepcopy(table)
    for path, value in values.items():
        *outer, key = path.split("__")
        inner = table
        for name in outer:
            inner = inner.setdefault(name, {})
        inner[key] = value
    return table


def faults_of(table, units="mm"):
    try:
        Case.model_validate(table, context={"units": units})
    except ValidationError as error:
        return faults_in(error, Case)
    return []


def test_a_case_can_not_be_changed():
    case = Case.model_validate(STRUT)
    with pytest.raises(ValidationError, match="frozen"):
        case.ride.bump = 60.0


def test_a_case_made_in_python_is_in_millimeters_whatever_its_reports_speak():
    case = Case.model_validate(STRUT | {"units": "in"})
    assert case.points.strut_top == tuple(STRUT["points"]["strut_top"])


def test_a_case_survives_being_written_and_read_as_python_data():
    case = Case.model_validate(STRUT)
    assert Case.model_validate(case.model_dump()) == case


def test_a_case_may_be_put_together_from_ready_made_models():
    case = Case.model_validate(STRUT)
    parts = {name: getattr(case, name) for name in Case.model_fields}
    assert Case(**parts) == case


def test_points_of_another_layout_are_refused_though_ready_made():
    points = Case.model_validate(DOUBLE_WISHBONE).points
    (fault,) = faults_of(STRUT | {"points": points})
    assert fault.location == "points"


def test_python_users_see_all_faults_in_the_error_s_text():
    table = with_values(STRUT, ride__bump=-1.0, wheel__toe_deg="in")
    with pytest.raises(ValidationError, match=r"wheel\.toe_deg must be a number.*; ride\.bump"):
        Case.model_validate(table)


def test_what_is_left_out_changes_nothing_on_the_car():
    case = Case.model_validate(DOUBLE_WISHBONE)
    assert (case.wheel.toe_deg, case.wheel.camber_deg, case.ride.lowered_by) == (0.0, 0.0, 0.0)
    assert case.rack.spacers == (0.0,)
    assert case.lower_ball_joint.drop == (0.0,)
    assert case.steering.rack_axis == (0.0, 1.0, 0.0)
    assert case.outer_pivot.stud_axis == (0.0, 0.0, -1.0)
    assert case.obstacles == ()
    assert case.joint.outer.tilt_limit_deg is None


def test_a_single_ball_joint_drop_is_a_list_of_one():
    case = Case.model_validate(with_values(STRUT, lower_ball_joint__drop=30))
    assert case.lower_ball_joint.drop == (30.0,)


def test_a_direction_is_not_scaled_by_the_units():
    case = Case.model_validate(
        tomllib.loads(GOOD_CASES["strut_inches"].read_text()), context={"units": "in"}
    )
    assert case.steering.rack_axis == (0.0, 1.0, 0.05)
    assert case.outer_pivot.stud_axis == (0.0, 0.1, -1.0)


def test_accuracy_of_one_figure_holds_for_every_point():
    case = Case.model_validate(with_values(STRUT, accuracy={"points": 3}))
    assert case.accuracy.of("strut_top") == (3.0, 3.0, 3.0)


def test_accuracy_by_point_leaves_the_rest_as_usual():
    accuracy = Case.model_validate(STRUT).accuracy
    assert accuracy.of("strut_top") == (5.08, 5.08, 5.08)
    assert accuracy.of("tie_rod_outer") == (1.27, 2.54, 0.508)
    assert accuracy.of("wheel_center") == (2.0, 2.0, 2.0)


def test_an_obstacle_without_a_name_is_called_by_its_kind():
    names = [part.name for part in Case.model_validate(STRUT).obstacles]
    assert names[:4] == ["rim", "brake disc", "lower arm", "anti-roll bar"]
    assert names[5:] == ["anti-roll bar link", "frame rail"]


@pytest.mark.parametrize("table", [STRUT, DOUBLE_WISHBONE], ids=["strut", "double-wishbone"])
def test_either_wheel_may_be_measured(table):
    mirrored = {name: [x, -y, z] for name, (x, y, z) in table["points"].items()}
    assert faults_of(table | {"points": mirrored}) == []


def test_the_strut_s_second_point_may_be_the_ball_joint():
    assert faults_of(with_values(STRUT, points__strut_axis=[2.54, 734.06, 190.5])) == []


@pytest.mark.parametrize(
    ("at_the_limit", "beyond"),
    [
        ({"wheel__tire_radius": 100.0}, {"wheel__tire_radius": 99.9}),
        ({"wheel__tire_radius": 1000.0}, {"wheel__tire_radius": 1000.1}),
        ({"wheel__camber_deg": -15.0}, {"wheel__camber_deg": -15.1}),
        ({"ride__toe_deg": 15.0}, {"ride__toe_deg": 15.1}),
        ({"ride__lowered_by": -400.0}, {"ride__lowered_by": -400.1}),
        ({"ride__bump": 400.0}, {"ride__bump": 400.1}),
        ({"ride__bump": 0.0}, {"ride__bump": -0.1}),
        (
            {"points__strut_top": [5000.0, 574.0, 830.0]},
            {"points__strut_top": [5000.1, 574.0, 830.0]},
        ),
        (
            {"points__strut_axis": [-38.1, 574.04, 820.5]},
            {"points__strut_axis": [-38.1, 574.04, 821]},
        ),
        (
            {"points__tie_rod_inner": [-127.0, 648.4, 261.62]},
            {"points__tie_rod_inner": [-127.0, 648.6, 261.62]},
        ),
        (
            {"points__wheel_center": [3.6, 734.06, 190.5]},
            {"points__wheel_center": [3.5, 734.06, 190.5]},
        ),
        (
            {"outer_pivot__stack": {"max": 100.0, "step": 0.001}},
            {"outer_pivot__stack": {"max": 100.1, "step": 0.001}},
        ),
        (
            {"outer_pivot__stack": {"min": 9.0, "max": 9.0, "step": 1.0}},
            {"outer_pivot__stack": {"min": 9.0, "max": 8.9, "step": 1.0}},
        ),
        ({"aim__tolerance_deg": 1e-6}, {"aim__tolerance_deg": 0.0}),
        ({"joint__inner__tilt_limit_deg": 90.0}, {"joint__inner__tilt_limit_deg": 90.1}),
        (
            {"joint__outer__race_width": 20.31, "joint__outer__head_width": 35.55},
            {"joint__outer__race_width": 20.32, "joint__outer__head_width": 35.55},
        ),
        ({"joint__outer__head_width": 15.24}, {"joint__outer__head_width": 15.23}),
        ({"joint__outer__neck_diameter": 19.17}, {"joint__outer__neck_diameter": 19.18}),
    ],
    ids=lambda values: "-".join(f"{key}={value}" for key, value in values.items()),
)
def test_a_limit_is_allowed_and_what_lies_beyond_is_not(at_the_limit, beyond):
    assert faults_of(with_values(STRUT, **at_the_limit)) == []
    (fault,) = faults_of(with_values(STRUT, **beyond))
    assert fault.message.startswith("must ")


def test_no_shims_of_a_thickness_may_be_on_the_shelf():
    shelf = {"shims": [{"thickness": 2.0, "count": 0}]}
    assert Case.model_validate(with_values(DOUBLE_WISHBONE, shelf=shelf)).shelf.shims[0].count == 0


def test_a_location_counts_from_one_and_quotes_what_can_not_be_typed_bare():
    assert location(("shelf", "shims", 1, "count")) == "shelf.shims[2].count"
    assert location(("ride", "a b")) == 'ride."a b"'


def test_a_fault_is_located_from_further_out():
    assert Fault("stack.step", "m").inside("outer_pivot").location == "outer_pivot.stack.step"
    assert Fault("[2].name", "m").inside("obstacles").location == "obstacles[2].name"
    assert Fault("", "m").inside("shelf").location == "shelf"
    assert Fault("format", "m").inside("").location == "format"


@given(inches=st.floats(4.0, 39.0))
def test_a_length_in_inches_is_25_4_times_as_many_millimeters(inches):
    twin = tomllib.loads(GOOD_CASES["strut_inches"].read_text())
    case = Case.model_validate(
        with_values(twin, wheel__tire_radius=inches), context={"units": "in"}
    )
    assert case.wheel.tire_radius == pytest.approx(25.4 * inches, rel=0.0, abs=LENGTH_ATOL_MM)


def paths_of(value, path=()):
    """Every key and list item of nested tables, as a path."""
    items = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    for key, item in items:
        yield (*path, key)
        yield from paths_of(item, (*path, key))


ANYTHING = st.recursive(
    st.booleans() | st.integers() | st.floats() | st.text() | st.dates() | st.times(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=8,
)


@given(
    table=st.sampled_from([STRUT, DOUBLE_WISHBONE]),
    data=st.data(),
    value=ANYTHING,
    units=st.sampled_from(["mm", "in"]),
)
def test_any_value_in_any_place_is_taken_or_refused_in_words_that_say_where(
    table, data, value, units
):
    path = data.draw(st.sampled_from(sorted(paths_of(table), key=str)))
    table = copy.deepcopy(table)
    inner = table
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    for fault in faults_of(table, units):
        assert re.match(r"\w+($|[.\[])", fault.location)
        assert re.match(r"(must|is not) ", fault.message)
        assert "another kind" not in fault.message
