"""Shelves with a solid spacer, a limit on pieces, and sizes in both units, against all ways."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.files.case_file import case_from_toml
from optimizer.files.starters import starter_case
from optimizer.models.case import Case
from optimizer.models.shelf import OuterPivot, Shelf, Stack
from optimizer.models.stacks import buildable_stacks

STARTER = starter_case("double-wishbone")
CAR = case_from_toml(STARTER, "starter")
MM_PER = {"mm": Fraction(1), "in": Fraction(254, 10)}
ON_SHELF = "shims = [{ thickness = 1.0, count = 4 }, { thickness = 3.0, count = 3 }]"

# As typed: hundredths of a millimeter, or 64ths and thousandths of an inch.
metric = st.integers(1, 800).map(lambda n: (Fraction(n, 100), "mm"))
sixtyfourths = st.integers(1, 24).map(lambda n: (Fraction(n, 64), "in"))
thousandths = st.integers(1, 300).map(lambda n: (Fraction(n, 1000), "in"))
shims = st.lists(
    st.tuples(metric | sixtyfourths | thousandths, st.integers(0, 3)), min_size=1, max_size=4
)
solids = st.none() | st.tuples(st.integers(100, 900), st.integers(0, 12), st.sampled_from([25, 70]))
limits = st.none() | st.tuples(st.integers(0, 1500), st.integers(500, 3000)).map(sorted)


def car_with(shelf: dict[str, object], stack: dict[str, float] | None = None) -> Case:
    return CAR.model_copy(
        update={
            "shelf": Shelf.model_validate(shelf),
            "outer_pivot": OuterPivot.model_validate({"stack": stack} if stack else {}),
        }
    )


def ways(pieces, solid, most):
    """Every pick of the pieces, with no solid spacer or one of its heights: (height, pieces)."""
    turned = [()]
    if solid is not None:
        low, steps, step = solid
        turned += [(Fraction(low + k * step, 100),) for k in range(steps + 1)]
    for spacer in turned:
        for counts in product(*(range(count + 1) for _, count in pieces)):
            stack = list(spacer)
            for used, ((size, unit), _) in zip(counts, pieces, strict=True):
                stack += [size * MM_PER[unit]] * used
            if most is None or len(stack) <= most:
                yield sum(stack, Fraction(0)), len(stack)


@given(shims, solids, limits, st.none() | st.integers(1, 6))
def test_the_stacks_are_exactly_those_that_can_be_built_of_the_fewest_pieces(
    pieces, solid, height, most
):
    shelf = {
        "shims": [{"thickness": float(x), "units": u, "count": n} for (x, u), n in pieces],
        "most_pieces": most,
    }
    if solid is not None:
        low, steps, step = solid
        shelf["solid_spacer"] = {
            "min": low / 100,
            "max": (low + steps * step) / 100,
            "step": step / 100,
        }
    fewest: dict[Fraction, int] = {}
    for total, count in ways(pieces, solid, most):
        if height is None or height[0] <= 100 * total <= height[1]:
            fewest[total] = min(count, fewest.get(total, count))
    if not fewest:
        return
    stack = None if height is None else {"min": height[0] / 100, "max": height[1] / 100}
    built = buildable_stacks(car_with(shelf, stack))
    assert [one.height for one in built] == [float(total) for total in sorted(fewest)]
    assert [len(one.pieces) for one in built] == [fewest[total] for total in sorted(fewest)]


def test_a_solid_spacer_counts_as_one_piece_and_takes_the_place_of_many():
    shelf = {
        "shims": [{"thickness": 1.0, "count": 9}],
        "solid_spacer": {"min": 3.0, "max": 6.0, "step": 1.0},
    }
    pieces = {one.height: one.pieces for one in buildable_stacks(car_with(shelf))}
    assert pieces[2.0] == (1.0, 1.0)
    assert pieces[5.0] == (5.0,)
    assert pieces[8.0] == (6.0, 1.0, 1.0)


@pytest.mark.parametrize(("units", "step"), [("mm", 0.1), ("in", 0.127)])
def test_a_solid_spacer_is_told_apart_by_a_tenth_of_a_millimeter_or_by_five_thousandths(
    units, step
):
    case = car_with({"solid_spacer": {"min": 10.0, "max": 20.0}})
    heights = [one.height for one in buildable_stacks(case.model_copy(update={"units": units}))]
    assert heights[:3] == [0.0, 10.0, 10.0 + step]
    assert heights[-1] == 20.0


def test_as_many_steps_as_are_allowed_are_not_refused_for_a_rounding_error():
    stack = {"min": 0.0, "max": 30.0, "step": 0.0003}  # 100,000 steps and 1e-11 of one more
    assert Stack.model_validate(stack).step == 0.0003


def test_an_inch_shim_in_a_metric_case_stays_what_it_is_once_read():
    text = STARTER.replace(ON_SHELF, 'shims = [{ thickness = 0.0625, units = "in", count = 2 }]')
    case = case_from_toml(text, "case")
    assert [shim.thickness for shim in case.shelf.shims] == [1.5875]
    again = Case.model_validate(case.model_dump())
    assert [shim.thickness for shim in again.shelf.shims] == [1.5875]


def test_a_metric_shim_in_a_case_in_inches_is_metric():
    shelf = Shelf.model_validate(
        {"shims": [{"thickness": 1.5, "units": "mm", "count": 1}]}, context={"units": "in"}
    )
    assert shelf.shims[0].thickness == 1.5
