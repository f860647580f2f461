"""The one shim to buy, against trying every purchase with the whole program."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.models.case import Case
from optimizer.models.hardware import Rack
from optimizer.models.shelf import OuterPivot, Shelf, Shim
from optimizer.models.vehicle import Vehicle
from optimizer.options.candidates import Candidates
from optimizer.options.proof import prove
from optimizer.options.shopping import SOLD
from optimizer.options.space import space_of
from optimizer.options.study.run import StudyPlan

RESOLUTION_DEG = 0.01  # what a gauge tells apart
# A pair is solved in a batch of its own, so sums are rounded in another order.
SAME_ANGLE_ATOL_DEG = 1e-9
WISHBONE = Path(__file__).parents[3] / "cases" / "track-wishbone.toml"


@cache
def car(
    *sizes: float,
    most: int | None = None,
    highest: float | None = None,
    racks: tuple[float, ...] = (0.0, 4.0),
) -> Case:
    """The wishbone car with one shim of each size, and few heights for its rack."""
    shims = tuple(Shim(thickness=size, count=1) for size in sizes)
    stack = None if highest is None else {"min": 0.0, "max": highest}
    return read_case(WISHBONE).model_copy(
        update={
            "shelf": Shelf(shims=shims, most_pieces=most),
            "outer_pivot": OuterPivot.model_validate({"stack": stack}),
            "rack": Rack(spacers=racks),
        }
    )


def answer(case: Case):
    return suggest(Vehicle((case,)), plan=SuggestPlan(StudyPlan(trials=1)))


def best_peak(case: Case) -> float:
    return float(
        np.degrees(prove(Candidates.of(Evaluator.of(case), space_of(case)), wanted=1).best_peak)
    )


def with_one_more(case: Case, thickness: float) -> Case:
    shims = (*case.shelf.shims, Shim(thickness=thickness, count=1))
    return case.model_copy(update={"shelf": case.shelf.model_copy(update={"shims": shims})})


@pytest.mark.parametrize(
    "case",
    [
        car(5.0),
        car(5.0, racks=(0.0, 2.0, 4.0, 6.0, 8.0)),
        car(1.0, 3.0, 12.0),
        car(4.0, 4.0, most=2),
        car(9.0, highest=9.5),
    ],
    ids=["one", "one that nearly does", "three", "two at most", "a short stud"],
)
def test_no_other_purchase_brings_the_peak_lower(case):
    told, now = answer(case).next_shim, best_peak(case)
    peaks = {size: best_peak(with_one_more(case, size)) for size in SOLD["mm"]}
    if told is None:
        assert min(peaks.values()) > now - RESOLUTION_DEG
        return
    assert told.peak_now_deg == pytest.approx(now, rel=0.0, abs=SAME_ANGLE_ATOL_DEG)
    assert told.peak_then_deg <= min(peaks.values()) + RESOLUTION_DEG
    assert told.peak_then_deg >= peaks[told.wheels[0].thickness_mm] - SAME_ANGLE_ATOL_DEG
    assert told.peak_then_deg < now - RESOLUTION_DEG
    (wheel,) = told.wheels
    assert wheel.thickness_mm in wheel.stack_mm
    assert sum(wheel.stack_mm) == wheel.outer_drop_mm


def test_the_shim_that_lacks_is_named():
    told = answer(car(5.0, 1.0)).next_shim
    assert told is not None
    (wheel,) = told.wheels
    assert sorted(wheel.stack_mm, reverse=True) == wheel.stack_mm
    assert wheel.thickness_mm not in (5.0, 1.0)


def test_a_shelf_that_has_everything_lacks_no_shim():
    assert answer(car(0.5, 1.0, 2.0, 4.0, 8.0)).next_shim is None


def test_an_adjuster_has_no_shim_to_buy():
    assert answer(read_case(WISHBONE)).next_shim is None


def test_a_shim_for_a_case_in_inches_is_sold_in_inches():
    told = answer(car(5.0).model_copy(update={"units": "in"})).next_shim
    parts = told.wheels[0].thickness_mm / 25.4 * 32.0
    assert parts == pytest.approx(round(parts))
