"""Which kit serves whom, and which sizes would serve most, counted by hand and by brute force."""

from collections import Counter
from itertools import product

import numpy as np
import pytest

from optimizer.answers.screen_summary import screen_summary
from optimizer.answers.sizes import sizes_of
from optimizer.files.kits import read_kits
from optimizer.models.screen import ScreenedRow, ScreenedWheel
from optimizer.wording.screen import share
from tests.optimizer.command_line import CASES

HEIGHTS = (0.0, 10.0)
TWO_KITS = read_kits(CASES / "kits.toml").kits[:2]


def row(case: str, kit: int, height: float, *, met: bool) -> ScreenedRow:
    wheel = ScreenedWheel(
        side="left",
        outer_drop_mm=None,
        stack_mm=[],
        tie_rod_length_change_mm=None,
        alone_peak_deg=None,
        needed_outer_drop_mm=None,
        would_do_mm=[(3.0, 4.0)] if met else [],
    )
    return ScreenedRow(
        case=case,
        digest="",
        car=case,
        layout="strut",
        tolerance_deg=0.05,
        kit=TWO_KITS[kit].name,
        lowered_by_mm=height,
        reachable=met,
        blocked_by=[] if met else ["gap"],
        wheels=[wheel],
    )


def test_cars_are_counted_by_kit_and_height():
    met = {("a", 0, 0.0), ("a", 0, 10.0), ("a", 1, 0.0), ("b", 1, 10.0)}
    cells = list(product("abc", HEIGHTS, (0, 1)))
    rows = [row(case, kit, at, met=(case, kit, at) in met) for case, at, kit in cells]
    summary = screen_summary(iter(rows), HEIGHTS, TWO_KITS)
    assert (summary.cars, summary.rows) == (3, 12)
    assert [(kit.cars, kit.cars_at_all_heights) for kit in summary.kits] == [(1, 1), (2, 0)]
    assert [[at.cars for at in kit.heights] for kit in summary.kits] == [[1, 1], [1, 1]]
    assert [at.cars for at in summary.served] == [1, 2]
    assert [kit.stopped_by for kit in summary.kits] == [{"gap": 4}, {"gap": 4}]
    assert summary.sizes is not None
    assert (summary.sizes.places, summary.sizes.possible) == (6, 2)


@pytest.mark.parametrize("seed", range(5))
def test_sizes_serve_as_many_places_as_trying_every_stack_says(seed):
    rng = np.random.default_rng(seed)
    windows: Counter[tuple[tuple[float, float], ...]] = Counter()
    for _ in range(60):
        ends = np.sort(rng.integers(-40, 121, 4)) * 0.5
        windows[(float(ends[0]), float(ends[1])), (float(ends[2]), float(ends[3]))] += 1
        low = float(rng.integers(-40, 121)) * 0.5
        windows[((low, low),)] += 2
        windows[()] += 1
    sizes = sizes_of(windows)

    def served(built: list[float]) -> int:
        return sum(
            count
            for runs, count in windows.items()
            if any(low <= mm <= high for low, high in runs for mm in built)
        )

    heights = [0.5 * k for k in range(-40, 121)]
    assert (sizes.places, sizes.possible) == (240, served(heights))
    for one in sizes.lengths:
        assert one.served == served([mm for mm in heights if mm <= one.longest_mm])
    for one in sizes.steps:
        assert one.served == served([mm for mm in heights if mm % one.step_mm == 0.0])
    for one in sizes.ranges:
        built: list[float] = []
        for found in one.ranges:
            assert found.max_mm - found.min_mm == one.width_mm
            built += [mm for mm in heights if found.min_mm <= mm <= found.max_mm]
            assert found.served == served(built)
        best = max(
            served([mm for mm in heights if first <= mm <= first + one.width_mm])
            for first in heights
            if first + one.width_mm <= 60.0
        )
        assert one.ranges[0].served == best


def test_a_share_is_whole_or_nothing_only_where_it_really_is():
    assert [share(part, 1000) for part in (0, 1, 500, 999, 1000)] == [
        "0 %",
        "1 %",
        "50 %",
        "99 %",
        "100 %",
    ]
