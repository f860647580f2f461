"""The settings of a case: every stack x rack spacer x linkage, and leaving it as it is."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.errors import PivotwrightError
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.files.starters import starter_case
from optimizer.models.case import Case
from optimizer.models.hardware import LowerBallJoint, Rack
from optimizer.models.shelf import OuterPivot, Shelf
from optimizer.options.space import space_of

CAR = case_from_toml(starter_case("double-wishbone"), "starter")
SHIMS = [{"thickness": 1.0, "count": 2}, {"thickness": 5.0, "count": 1}]


def car_with(
    stack: dict[str, float] | None = None,
    spacers: tuple[float, ...] = (0.0,),
    drops: tuple[float, ...] = (0.0,),
    shims: list[dict[str, float]] | None = None,
) -> Case:
    return CAR.model_copy(
        update={
            "outer_pivot": OuterPivot.model_validate({"stack": stack} if stack else {}),
            "shelf": None if shims is None else Shelf.model_validate({"shims": shims}),
            "rack": Rack(spacers=spacers),
            "lower_ball_joint": LowerBallJoint(drop=drops),
        }
    )


def setting(space, row):
    settings = space.settings
    return (
        float(settings.outer_drop[row]),
        float(settings.rack_raise[row]),
        int(settings.linkage[row]),
    )


spacers = st.lists(st.integers(-9, 9).map(float), min_size=1, max_size=4, unique=True).map(tuple)
drops = st.lists(st.integers(0, 30).map(float), min_size=1, max_size=3, unique=True).map(tuple)
ranges = st.tuples(st.integers(-5, 5), st.integers(0, 6)).map(
    lambda low_and_steps: {
        "min": low_and_steps[0] * 1.0,
        "max": low_and_steps[0] + low_and_steps[1] * 0.5,
        "step": 0.5,
    }
)


@given(ranges, spacers, drops)
def test_every_row_is_found_again_from_its_places_and_is_what_they_name(stack, spacers, drops):
    space = space_of(car_with(stack, spacers, drops))
    assert space.built == len(space.stacks) * len(spacers) * len(drops)
    for row in range(space.built):
        k, rack, _, linkage = places = space.places(row)
        assert space.row(*places) == row
        assert setting(space, row) == (space.stacks[k].height, spacers[rack], linkage)
        assert space.pieces(row) == (() if row == space.left else space.stacks[k].pieces)


@given(ranges, spacers, drops)
def test_every_combination_is_there_once_and_leaving_it_as_it_is_among_them(stack, spacers, drops):
    space = space_of(car_with(stack, spacers, drops))
    rows = [setting(space, row) for row in range(len(space.settings))]
    steps = round((stack["max"] - stack["min"]) / 0.5)
    heights = [stack["min"] + 0.5 * k for k in range(steps + 1)]
    combinations = {(a, b, c) for a in heights for b in spacers for c in range(len(drops))}
    assert sorted(rows) == sorted(combinations | {(0.0, 0.0, 0)})
    assert setting(space, space.left) == (0.0, 0.0, 0)
    assert (space.left < space.built) == ((0.0, 0.0, 0) in combinations)
    assert space.pieces(space.left) == ()


@pytest.mark.parametrize(
    ("case", "combinations"),
    [
        (car_with(), 1),
        (car_with({"min": 0.0, "max": 0.0, "step": 1.0}), 1),
        (car_with({"min": 5.0, "max": 5.0, "step": 1.0}), 2),
        (car_with(None, (3.0,)), 2),
        (car_with({"min": 5.0, "max": 6.0, "step": 1.0}, (-3.0, 3.0)), 5),
        (car_with({"max": 20.0}, shims=SHIMS), 6),
        (car_with({"min": 1.0, "max": 20.0}, shims=SHIMS), 6),
        (car_with(None, (0.0,), (30.0,)), 1),
        (car_with(None, (0.0,), (30.0, 0.0)), 2),
    ],
    ids=[
        "no hardware",
        "a range of nothing",
        "one stack that must be fitted",
        "one spacer that must be fitted",
        "neither bare seat nor bare rack",
        "a shelf",
        "a shelf and a least height",
        "a fitted extension",
        "an extension that may come off",
    ],
)
def test_leaving_it_as_it_is_is_always_one_setting_more_or_among_the_others(case, combinations):
    space = space_of(case)
    assert len(space.settings) == combinations
    assert setting(space, space.left) == (0.0, 0.0, 0)


def test_effort_counts_work_then_height_then_rack():
    space = space_of(car_with({"max": 20.0}, (0.0, 3.0), (30.0, 0.0), SHIMS))
    asked = {
        setting(space, row): tuple(space.effort()[:, row]) for row in range(len(space.settings))
    }
    assert asked[0.0, 0.0, 0] == (0, 0, 0.0, 0.0)
    assert asked[5.0, 0.0, 0] == (1, 1, 5.0, 0.0)
    assert asked[2.0, 0.0, 0] == (1, 2, 2.0, 0.0)
    assert asked[7.0, 3.0, 0] == (1, 7, 7.0, 3.0)
    assert asked[0.0, 0.0, 1] == (1, 6, 0.0, 0.0)


def test_effort_does_not_depend_on_the_way_that_a_pivot_moves():
    space = space_of(car_with({"min": -2.0, "max": 2.0, "step": 1.0}, (-3.0, 0.0, 3.0)))
    asked = {
        setting(space, row): tuple(space.effort()[:, row]) for row in range(len(space.settings))
    }
    assert asked[-2.0, -3.0, 0] == asked[2.0, 3.0, 0] == (1, 5, 2.0, 3.0)


def test_hardware_with_too_many_settings_is_refused():
    spacers = tuple(float(x) for x in np.round(np.linspace(-10.0, 10.0, 101), 3))
    case = car_with({"min": 0.0, "max": 100.0, "step": 0.001}, spacers)
    with pytest.raises(PivotwrightError, match=r"allows 10,100,101 settings, more than 1,000,000"):
        space_of(case)


def test_the_settings_of_a_demo_car_are_those_of_its_file(demo_car):
    case = read_case(demo_car)
    space = space_of(case)
    assert space.raises == list(case.rack.spacers)
    assert space.linkages == list(range(len(case.linkage_choices)))
    assert len(space.settings) == len(space.stacks) * len(space.raises) * len(space.linkages)
