"""Stacks from a shelf and from an adjuster: their pieces, their limits, what is refused."""

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from optimizer.errors import PivotwrightError
from optimizer.files.case_file import case_from_toml
from optimizer.files.starters import starter_case
from optimizer.models.case import Case
from optimizer.models.shelf import OuterPivot, Shelf
from optimizer.models.stacks import buildable_stacks

CAR = case_from_toml(starter_case("double-wishbone"), "starter")
MM_PER_INCH = Fraction(254, 10)

# Thicknesses as they are sold and typed: hundredths of a millimeter, 64ths of an inch.
metric = st.integers(1, 1000).map(lambda hundredths: Fraction(hundredths, 100))
fractional = st.integers(1, 32).map(lambda parts: MM_PER_INCH * parts / 64)
shelves = st.lists(
    st.tuples(metric | fractional, st.integers(0, 3)), min_size=1, max_size=4, unique_by=lambda x: x
)


def car_with(shims: list[tuple[Fraction, int]], stack: dict[str, float] | None) -> Case:
    shelf = {"shims": [{"thickness": float(size), "count": count} for size, count in shims]}
    return CAR.model_copy(
        update={
            "shelf": Shelf.model_validate(shelf),
            "outer_pivot": OuterPivot.model_validate({"stack": stack} if stack else {}),
        }
    )


def adjuster(low: float, high: float, step: float) -> Case:
    pivot = {"stack": {"min": low, "max": high, "step": step}}
    return CAR.model_copy(
        update={"shelf": None, "outer_pivot": OuterPivot.model_validate(pivot)},
    )


@given(shelves)
def test_the_pieces_of_a_stack_are_on_the_shelf_and_add_up_to_its_height(shims):
    on_shelf: dict[float, int] = {}
    for size, count in shims:
        on_shelf[float(size)] = on_shelf.get(float(size), 0) + count
    exact = {float(size): size for size, _ in shims}
    for stack in buildable_stacks(car_with(shims, None)):
        assert all(stack.pieces.count(piece) <= on_shelf[piece] for piece in stack.pieces)
        assert float(sum(exact[piece] for piece in stack.pieces)) == stack.height
        assert list(stack.pieces) == sorted(stack.pieces, reverse=True)


def test_a_limit_that_a_stack_just_meets_allows_it():
    shims = [(Fraction("0.1"), 3), (MM_PER_INCH / 32, 2)]  # 0.1 + 0.1 + 0.1 is not 0.3 in floats
    case = car_with(shims, {"min": 0.3, "max": 1.8875})
    stacks = [stack.height for stack in buildable_stacks(case)]
    assert stacks[0] == 0.3
    assert stacks[-1] == 1.8875


def test_one_height_reached_by_inch_and_by_metric_pieces_is_listed_once():
    shims = [(Fraction("6.35"), 1), (MM_PER_INCH / 8, 2)]  # a quarter inch, twice an eighth
    stacks = {stack.height: stack.pieces for stack in buildable_stacks(car_with(shims, None))}
    assert stacks == {
        0.0: (),
        3.175: (3.175,),
        6.35: (6.35,),
        9.525: (6.35, 3.175),
        12.7: (6.35, 3.175, 3.175),
    }


def test_a_shelf_in_inches_builds_the_exact_millimeters():
    shelf = Shelf.model_validate(
        {"shims": [{"thickness": 0.03125, "count": 2}, {"thickness": 0.0625, "count": 1}]},
        context={"units": "in"},
    )
    case = CAR.model_copy(update={"shelf": shelf, "outer_pivot": OuterPivot()})
    heights = [stack.height for stack in buildable_stacks(case)]
    assert heights == [float(MM_PER_INCH * parts / 32) for parts in range(5)]


@given(st.integers(-2000, 2000), st.integers(0, 300), st.sampled_from(["0.01", "0.1", "0.25"]))
@example(-1, 1, "0.1")  # from -0.01 to 0.09, which is less than 0.1 in binary
def test_an_adjuster_stops_at_every_step_of_its_range_counted_from_its_low_end(low, steps, step):
    first, each = Fraction(low, 100), Fraction(step)
    last = first + steps * each
    stacks = buildable_stacks(adjuster(float(first), float(last), float(each)))
    assert [stack.height for stack in stacks] == [float(first + k * each) for k in range(steps + 1)]
    assert all(sum(stack.pieces) == stack.height for stack in stacks)


def test_an_adjuster_whose_range_is_no_whole_number_of_steps_stops_before_its_high_end():
    assert [stack.height for stack in buildable_stacks(adjuster(-1.0, 1.7, 0.5))] == [
        -1.0,
        -0.5,
        0.0,
        0.5,
        1.0,
        1.5,
    ]


def test_a_car_without_any_hardware_named_keeps_its_bare_seat():
    case = CAR.model_copy(update={"shelf": None, "outer_pivot": OuterPivot()})
    assert [(stack.height, stack.pieces) for stack in buildable_stacks(case)] == [(0.0, ())]


def test_a_shelf_that_builds_too_many_stacks_is_refused():
    doubling = [(Fraction(2**k, 1000), 1) for k in range(18)]  # every height from 0 to 2^18 - 1
    with pytest.raises(PivotwrightError, match=r"more than \d+ different stacks"):
        buildable_stacks(car_with(doubling, None))


@pytest.mark.parametrize(
    ("shims", "stack"),
    [
        ([(Fraction(5), 3)], {"min": 60.0, "max": 70.0}),
        ([(Fraction(5), 3)], {"min": 6.0, "max": 9.0}),
        ([(Fraction(5), 3)], {"min": -20.0, "max": -10.0}),
        ([(Fraction(5), 0)], {"min": 1.0, "max": 9.0}),
    ],
    ids=["too high", "between two", "below the seat", "none left"],
)
def test_a_shelf_that_builds_nothing_within_the_limits_is_refused(shims, stack):
    with pytest.raises(PivotwrightError, match=r"outer_pivot\.stack"):
        buildable_stacks(car_with(shims, stack))
