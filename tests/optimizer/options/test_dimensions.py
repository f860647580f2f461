"""The option space against trying everything: wheels x hardware x layout x units, and odd cars.

Every option of every cell is made, solved and checked one by one; what the space lists, ranks,
counts and marks must be the same.
"""

from collections.abc import Iterator
from functools import cache
from itertools import product
from typing import Any

import numpy as np
import pytest

from optimizer.files.case_file import car_from_toml
from optimizer.models.kits import Kit, RodEnd
from optimizer.models.shelf import Stack
from optimizer.models.vehicle import Vehicle
from optimizer.options.dimensions import Option, OptionSpace, option_space
from optimizer.options.proof import by_bound
from optimizer.options.ranking import Ranking, ranked
from optimizer.options.study.run import StudyPlan, run_study
from optimizer.options.trade_offs import Rivals
from tests.optimizer.matrix_cars import AXLES, CELLS, NAMES, car, kits
from tests.optimizer.options.exhaustive import SAME_DEG, EveryOption
from tests.optimizer.two_sided_cars import DEMO_TEXT
from tests.random_cars import GOOD_POINTS

Named = tuple[str | None, bool, list[tuple[float, float, float, int]]]
MANY = 1000

BINDS = {"outer": {"tilt_limit_deg": 0.5}}

# What else decides which options there are, one wheel and two, own hardware and kits.
ODD: dict[str, dict[str, Any]] = {
    "the rack must move": {"rack": {"spacers": [3.0]}},
    "a stack must be fitted": {"outer_pivot": {"stack": {"min": 3.0, "max": 9.0, "step": 3.0}}},
    "the rack goes fore and aft": {"rack": {"spacers": [0.0, 3.0], "fore_aft": [-6.0, 0.0, 6.0]}},
    "the rack goes fore and aft in inches": {"rack": {"fore_aft": [-0.25, 0.0, 0.25]}},
    "the rack must go forward": {"rack": {"fore_aft": [4.0, 8.0]}},
    "nothing may be fitted": {"outer_pivot": {}, "rack": {}, "lower_ball_joint": {}},
    "nothing fits": {"joint": BINDS},
    "nothing fits the last wheel": {},
    "alignments": {"alignment": {"by": "strut-top", "camber_deg": -2.0}},
}
Cell = tuple[tuple[str, ...], str]
EVERY_CELL: dict[str, Cell] = dict(zip(NAMES, ((cell, "") for cell in CELLS), strict=True)) | {
    f"{wheels}-{hardware}-{odd}": ((wheels, hardware, "strut", "mm"), odd)
    for wheels in ("one", "both")
    for hardware in ("range", "kits")
    for odd in ODD
    if not odd.endswith("in inches")
}
EVERY_CELL |= {
    f"{wheels}-range-{layout}-fore-and-aft": (
        (wheels, "range", layout, "mm"),
        "the rack goes fore and aft",
    )
    for wheels in ("one", "both")
    for layout in GOOD_POINTS
    if wheels == "one" or layout not in AXLES
}
EVERY_CELL["both-shelf-double-wishbone-in-fore-and-aft"] = (
    ("both", "shelf", "double-wishbone", "in"),
    "the rack goes fore and aft in inches",
)


def cars_of(cell: Cell) -> list[Vehicle]:
    """The car of a cell, and with each other extension where each has an alignment of its own."""
    whole = car_of(cell)
    return [extended(whole, drop) for drop in (0.0, 12.0)] if cell[1] == "alignments" else [whole]


def car_of(cell: Cell) -> Vehicle:
    kind, odd = cell
    whole = car(*kind, **ODD.get(odd, {}))
    if odd != "nothing fits the last wheel":
        return whole
    return Vehicle((*whole.wheels[:-1], *car(*kind, joint=BINDS).wheels[-1:]))


def extended(whole: Vehicle, drop: float) -> Vehicle:
    joint = whole.case.lower_ball_joint.model_copy(update={"drop": (drop,)})
    return Vehicle(
        tuple(case.model_copy(update={"lower_ball_joint": joint}) for case in whole.wheels)
    )


@cache
def every_option_of(cell: Cell) -> EveryOption:
    own, *others = cars_of(cell)
    return EveryOption(own, kits_of(cell), tuple(others))


def kits_of(cell: Cell) -> list[Kit]:
    (_, hardware, _, units), _ = cell
    return kits(units) if hardware == "kits" else []


def space_of(cell: Cell) -> OptionSpace:
    return option_space(car_of(cell), kits_of(cell))


@cache
def ranked_whole(cell: Cell) -> tuple[OptionSpace, Ranking]:
    space = space_of(cell)
    return space, ranked(space, MANY)


@pytest.fixture(params=EVERY_CELL.values(), ids=EVERY_CELL)
def cell(request: pytest.FixtureRequest) -> Cell:
    return request.param


@pytest.fixture
def every(cell: Cell) -> EveryOption:
    """All options of a cell, solved once."""
    return every_option_of(cell)


@pytest.fixture
def space(cell: Cell) -> OptionSpace:
    """A space of which nothing is known yet."""
    return space_of(cell)


def named(space: OptionSpace, option: Option) -> Named:
    kit, fitted = space.hardware_of(option).kit, []
    for wheel, row in zip(space.wheels, option.rows, strict=True):
        one = wheel.settings.rows(np.array([row]))
        lengths = (one.outer_drop, one.rack_raise, one.forward)
        fitted.append((*(float(x[0]) for x in lengths), int(one.linkage[0])))
    return None if kit is None else kit.name, space.hardware_of(option).extended, fitted


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
def test_what_is_named_is_what_trying_every_option_names(cell, every, space, shown):
    space, ranking = ranked_whole(cell) if shown == MANY else (space, ranked(space, shown))
    assert np.degrees(ranking.best_peak) == pytest.approx(every.best_deg, rel=0.0, abs=SAME_DEG)
    found = [named(space, option) for option in ranking.fitting]
    wanted = [made.named for made in every.ranking[: MANY if every.kits else shown]]
    if wanted and found[0] != wanted[0]:
        wanted = [one for one in wanted if one != found[0]]
        if every.kits:  # each has one place
            wanted = [one for one in wanted if one[0] != found[0][0]]
        wanted = [found[0], *wanted][: MANY if every.kits else shown]
    if every.as_is.fits and every.as_is.named not in wanted:
        wanted.append(every.as_is.named)
    assert found == wanted
    if every.ranking:
        assert found[0] in [made.named for made in every.least_work]
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
    space, ranking = ranked_whole((("one", "kits", "double-wishbone", "mm"), ""))
    names = [named(space, option)[0] for option in ranking.fitting]
    leading = [name for name in names if name in ("cheap", "dear", "unpriced", "drilled")]
    assert leading == ["cheap", "dear", "unpriced", "drilled"]
    assert space.peak(ranking.fitting[names.index("drilled")]) <= ranking.limit


def test_of_two_that_ask_the_same_the_one_with_the_wider_gap_beats_the_other():
    cheap = next(kit for kit in kits("mm") if kit.name == "cheap")
    rod_end = RodEnd(housing_diameter=40.0, housing_height=40.0)
    bulky = cheap.model_copy(update={"name": "bulky", "rod_end": rod_end})
    space = option_space(car("one", "kits", "double-wishbone", "mm"), [cheap, bulky])
    marks = {
        named(space, option)[0]: Rivals(space).unbeaten(option)
        for option in ranked(space, MANY).fitting
    }
    assert (marks["cheap"], marks["bulky"]) == (True, False)


def test_alternatives_whose_estimates_err_differently_are_walked_by_what_they_could_have():
    wide = {"stack": {"min": -60.0, "max": 60.0, "step": 2.0}}
    aligned = car("one", "range", "strut", "mm", **ODD["alignments"], outer_pivot=wide)
    (wheel,) = option_space(aligned).wheels
    least = wheel.estimates[1][by_bound(wheel, wheel.allowed)]
    assert len(wheel.parts) == 2
    assert np.all(np.diff(least) >= 0.0)
    assert np.any(np.diff(wheel.estimates[0][by_bound(wheel, wheel.allowed)]) < 0.0)


@pytest.mark.parametrize("wheels", ["one", "both"])
def test_a_kit_of_the_bare_seat_alone_is_ranked_too_where_the_rack_stays(wheels):
    bare = kits("mm")[0].model_copy(update={"stack": Stack(min=0.0, max=0.0, step=1.0)})
    whole = car(wheels, "kits", "twin-link-strut", "mm", rack={})
    space = option_space(whole, [bare])
    ranking = ranked(space, MANY)
    assert [named(space, option)[0] for option in ranking.fitting] == [None, "unpriced"]
    assert len({space.peak(option) for option in ranking.fitting}) == 1


def test_a_kit_that_the_linkage_can_t_follow_is_not_ranked():
    far = kits("mm")[0].model_copy(update={"stack": Stack(min=300.0, max=400.0, step=50.0)})
    space = option_space(car_from_toml(DEMO_TEXT, "demo"), [far])
    ranking = ranked(space, MANY)
    assert [named(space, option)[0] for option in (*ranking.fitting, *ranking.refused)] == [None]
