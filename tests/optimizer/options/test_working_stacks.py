"""Stacks that would do whatever kit builds them, against trying each as the only one there is."""

import numpy as np
import pytest

from optimizer.answers.reach import reach
from optimizer.car.ride_heights import RideHeights
from optimizer.files.case_file import read_car
from optimizer.models.kits import Kit
from optimizer.options.working_stacks import STACKS_MM, runs_of, working_stacks
from tests.optimizer.command_line import CASES

HEIGHTS = [0.0, 30.0]


@pytest.mark.parametrize("name", ["track-wishbone", "five-link-rear", "extended-strut"])
def test_a_stack_would_do_where_a_kit_of_that_height_alone_meets_the_tolerance(name):
    car = read_car(CASES / f"{name}.toml")
    works = working_stacks(RideHeights.of(car.case, np.array(HEIGHTS)))
    tried = np.unique(
        np.concatenate([np.arange(0, STACKS_MM.size, 7), *map(np.flatnonzero, works)])
    )
    kits = [
        Kit.model_validate(
            {"name": str(row), "seat": "tapered", "stack": {"min": mm, "max": mm, "step": 1.0}}
        )
        for row, mm in zip(tried.tolist(), STACKS_MM[tried].tolist(), strict=True)
    ]
    bare = car.case.model_copy(update={"stud": None})
    rows = reach(type(car)((bare,)), HEIGHTS, kits).heights
    met = {(HEIGHTS.index(row.lowered_by_mm), int(row.kit)) for row in rows if row.reachable}
    expected = {(place, row) for place, row in np.argwhere(works).tolist() if row in tried}
    assert met == expected
    assert expected


def test_runs_are_told_by_their_ends():
    works = np.zeros(STACKS_MM.size, dtype=bool)
    works[[0, 1, 2, 40, 160]] = True
    assert runs_of(works) == [(-20.0, -19.0), (0.0, 0.0), (60.0, 60.0)]
    assert runs_of(np.zeros(STACKS_MM.size, dtype=bool)) == []
