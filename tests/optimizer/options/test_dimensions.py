"""The option space against trying everything: wheels x hardware x layout x units.

Every option of every cell is made, solved and checked one by one; what the space lists, ranks,
counts and marks must be the same.
"""

from collections.abc import Iterator
from functools import cache
from itertools import product

import numpy as np
import pytest

from optimizer.options.dimensions import Option, OptionSpace, option_space
from optimizer.options.ranking import Ranking, ranked
from optimizer.options.study.run import StudyPlan, run_study
from optimizer.options.trade_offs import Rivals
from tests.optimizer.matrix_cars import CELLS, NAMES, car, kits
from tests.optimizer.options.exhaustive import SAME_DEG, EveryOption

Cell = tuple[str, str, str, str]
Named = tuple[str | None, list[tuple[float, float, int]]]
MANY = 1000


@cache
def every_option_of(cell: Cell) -> EveryOption:
    return EveryOption(car(*cell), kits_of(cell))


def kits_of(cell: Cell):
    return kits(cell[3]) if cell[1] == "kits" else []


@pytest.fixture(params=CELLS, ids=NAMES)
def cell(request: pytest.FixtureRequest) -> Cell:
    return request.param


@pytest.fixture
def every(cell: Cell) -> EveryOption:
    """All options of a cell, solved once."""
    return every_option_of(cell)


@pytest.fixture
def space(cell: Cell) -> OptionSpace:
    """A space of which nothing is known yet."""
    return option_space(car(*cell), kits_of(cell))


@cache
def ranked_whole(cell: Cell) -> tuple[OptionSpace, Ranking]:
    space = option_space(car(*cell), kits_of(cell))
    return space, ranked(space, MANY)


def named(space: OptionSpace, option: Option) -> Named:
    kit, fitted = space.hardware_of(option).kit, []
    for wheel, row in zip(space.wheels, option.rows, strict=True):
        one = wheel.settings.rows(np.array([row]))
        fitted.append((float(one.outer_drop[0]), float(one.rack_raise[0]), int(one.linkage[0])))
    return None if kit is None else kit.name, fitted


def listed(space: OptionSpace) -> Iterator[Option]:
    """Every option of a space, apart from leaving the car as it is where kits are to choose."""
    for lot in space.lots:
        if not space.hardware[lot.hardware].must_leave:
            yield from (Option(rows) for rows in product(*(some.tolist() for some in lot.rows)))


def test_every_option_is_listed_once_with_what_it_asks_of_the_workshop(every, space):
    effort = {str(made.named): tuple(map(float, made.effort)) for made in every.options}
    found = list(listed(space))
    assert sum(lot.count for lot in space.lots) == len(every.options) + bool(every.kits)
    assert {str(named(space, one)): tuple(space.effort(one)) for one in found} == effort
    assert len(found) == len(effort)
    assert named(space, space.as_is) == every.as_is.named
    assert not space.effort(space.as_is).any()


@pytest.mark.parametrize("shown", [2, MANY])
def test_what_is_named_is_what_trying_every_option_names(every, space, shown):
    ranking = ranked(space, shown)
    assert np.degrees(ranking.best_peak) == pytest.approx(every.best_deg, rel=0.0, abs=SAME_DEG)
    wanted = [made.named for made in every.ranking[: MANY if every.kits else shown]]
    if every.as_is.fits and every.as_is.named not in wanted:
        wanted.append(every.as_is.named)
    assert [named(space, option) for option in ranking.fitting] == wanted
    for option in ranking.fitting:
        assert space.fits(option)


def test_what_is_refused_does_not_fit_and_nothing_in_its_place_would(cell, every):
    space, ranking = ranked_whole(cell)
    assert not any(space.fits(option) for option in ranking.refused)
    if space.by_setting:
        wanted = [made for made in every.options if not made.fits]
        wanted = [made for made in wanted if made.peak_deg < every.best_deg]
        wanted.sort(key=lambda made: made.peak_deg)
    else:
        wanted = every.refused
    found = [named(space, option) for option in ranking.refused]
    if not every.as_is.fits and every.as_is.named not in (made.named for made in wanted):
        assert found.pop() == every.as_is.named
    assert found == [made.named for made in wanted]


def test_the_study_finds_the_same_and_its_best_is_the_best(cell, space):
    outcome = run_study(space, StudyPlan(), MANY)
    assert outcome.ranking == ranked_whole(cell)[1]
    assert outcome.best_peak == outcome.ranking.best_peak


def test_a_mark_means_that_no_option_that_fits_beats_it(cell, every):
    space, ranking = ranked_whole(cell)
    options, rivals = [*ranking.fitting, *ranking.refused], Rivals(space)
    for k, wheel in enumerate(space.wheels):
        wheel.find_clearances(np.unique([option.rows[k] for option in options]))
    fitting = [made for made in (*every.options, every.as_is) if made.fits]
    by_name = {str(made.named): made for made in (*every.options, every.as_is)}
    for option in options:
        made = by_name[str(named(space, option))]
        best = made.fits and not any(other.beats(made) for other in fitting)
        assert rivals.unbeaten(option) == best


def test_a_drilled_taper_weighs_more_than_all_else_and_price_decides_between_equals():
    cell = ("one", "kits", "double-wishbone", "mm")
    space, ranking = ranked_whole(cell)
    names = [named(space, option)[0] for option in ranking.fitting]
    leading = [name for name in names if name in ("cheap", "dear", "unpriced", "drilled")]
    assert leading == ["cheap", "dear", "unpriced", "drilled"]
    assert space.peak(ranking.fitting[names.index("drilled")]) <= ranking.limit
