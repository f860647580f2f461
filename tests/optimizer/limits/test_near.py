"""Cars among very many tubes: what is left out by boxes, and that no answer hangs on it."""

import numpy as np
import pytest

from optimizer.answers.reach import reach
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_car, read_case
from optimizer.files.kits import read_kits
from optimizer.limits import gaps as gaps_module
from optimizer.limits import near
from optimizer.limits.margins import margins
from optimizer.limits.watched import Margin, joined_limits
from optimizer.models.obstacles import Tube
from optimizer.models.vehicle import Vehicle
from tests.optimizer.command_line import CASES, WISHBONE

SETTINGS = Settings(np.array([0.0, 7.5, 12.0]), np.array([0.0, 4.0, 2.0]), np.zeros(3, np.intp))
CARS = ["track-wishbone", "lowered-strut", "two-sided-wishbone", "five-link-front"]


def cloud(case, count, seed, nearest):
    """Tubes any way round within 250 mm of the rod, their starts no nearer than a distance [mm]."""
    rng = np.random.default_rng(seed)
    inner, outer = (np.array(getattr(case.points, f"tie_rod_{end}")) for end in ("inner", "outer"))
    carriers = ["chassis", "upright"] + ["lower-arm"] * hasattr(case.points, "lower_arm_rear")
    tubes = []
    for k in range(count):
        off = rng.normal(size=3)
        start = inner + rng.uniform(-0.2, 1.2) * (outer - inner)
        start += off / np.linalg.norm(off) * rng.uniform(nearest, 250.0)
        long = 300.0 if k % 8 == 0 else 40.0
        tubes.append(
            Tube(
                name=f"tube {k}",
                fixed_to=rng.choice(carriers),
                start=tuple(start),
                end=tuple(start + rng.uniform(-long, long, 3)),
                diameter=rng.uniform(3.0, 20.0),
                gap=rng.choice([0.0, 5.0]),
            )
        )
    return tuple(tubes)


def among(case, count, seed, nearest):
    """The case in such a cloud."""
    tubes = cloud(case, count, seed, nearest)
    return case.model_copy(update={"obstacles": (*case.obstacles, *tubes)})


def test_of_five_thousand_tubes_a_tenth_are_looked_at(monkeypatch):
    evaluator = Evaluator.of(among(read_case(WISHBONE), 5_000, 3, 120.0))
    looked, separation = [], gaps_module.separation

    def counted(part, bar):
        if np.ndim(bar.start) == 1:  # a tube, as seen from what carries it
            looked.append(bar.start)
        return separation(part, bar)

    monkeypatch.setattr(gaps_module, "separation", counted)
    margins(evaluator, SETTINGS, follow="smallest")
    assert near.MOST_GAPS < len(np.unique(looked, axis=0)) < 500


@pytest.mark.parametrize("follow", ["undecided", "broken", "smallest"])
@pytest.mark.parametrize("seed", range(8))
def test_what_is_broken_or_nearest_is_the_same_as_if_no_tube_were_left_out(
    monkeypatch, seed, follow
):
    nearest = [0.0, 30.0, 60.0, 90.0][seed % 4]
    case = among(read_car(CASES / f"{CARS[seed // 2]}.toml").wheels[0], 200, seed, nearest)
    evaluator = Evaluator.of(case)
    some = margins(evaluator, SETTINGS, follow=follow)
    monkeypatch.setattr(near, "FEW", 1_000)
    every = margins(evaluator, SETTINGS, follow=follow)
    assert len(some) < len(every)
    known = {one.key: one for one in some}
    left_out = [one for one in every if one.key not in known]
    assert [one.key for one in every if one.key in known] == list(known)
    for one in every:
        if one.key in known:
            assert (one.margin == known[one.key].margin).all()
    # What is left out is farther off than those that are followed in possible cars, and is kept.
    for row in range(len(SETTINGS)):
        first = sorted(one.value[row] for one in some if one.kind == "gap")[: near.MOST_GAPS]
        assert all(one.margin[row] > max(0.0, first[-1]) for one in left_out)


@pytest.mark.parametrize("ends_only", [False, True])
def test_what_a_joint_still_needs_counts_as_wanted(monkeypatch, ends_only):
    evaluator = Evaluator.of(among(read_case(WISHBONE), 200, 1, 30.0))
    some = margins(evaluator, SETTINGS, ends_only=ends_only, needed=lambda _: (0.0, 60.0))
    monkeypatch.setattr(near, "FEW", 1_000)
    every = margins(evaluator, SETTINGS, ends_only=ends_only, needed=lambda _: (0.0, 60.0))
    known = {one.key for one in some}
    assert len(some) < len(every)
    assert all(one.margin.min() > 60.0 for one in every if one.key not in known)


@pytest.mark.parametrize("name", CARS)
def test_answers_are_the_same_as_if_no_tube_were_left_out(monkeypatch, name):
    car, kits = read_car(CASES / f"{name}.toml"), read_kits(CASES / "kits.toml").kits[:3]
    vehicle = Vehicle(tuple(among(one, 60, 5, 60.0) for one in car.wheels))
    few = near.FEW
    told = []
    for most in (few, 1_000):
        monkeypatch.setattr(near, "FEW", most)
        told.append((suggest(vehicle, kits), reach(vehicle, [0.0, 40.0], kits)))
    assert told[0] == told[1]


def margin(name, *values):
    value, at = np.array(values), np.zeros(len(values))
    return Margin("gap", name, value, 0.0, value, at, at)


def test_limits_that_some_candidates_do_not_list_are_far_off_them_and_stand_in_order():
    found = joined_limits(
        [[margin("a", 1.0), margin("c", 3.0)], [margin("b", 2.0, 5.0), margin("c", 4.0, 6.0)]]
    )
    assert [one.name for one in found] == ["b", "a", "c"]  # any order that both lists keep
    assert [one.margin.tolist() for one in found] == [
        [np.inf, 2.0, 5.0],
        [1.0, np.inf, np.inf],
        [3.0, 4.0, 6.0],
    ]


def tubes_around(case, kind, seed):
    """Sixty tubes: as long as a case may hold, far off, of any size and place, or about the rod."""
    rng = np.random.default_rng([seed, *kind.encode()])
    inner, outer = (np.array(getattr(case.points, f"tie_rod_{end}")) for end in ("inner", "outer"))
    tubes = []
    for k in range(60):
        way = rng.normal(size=3)
        way /= np.linalg.norm(way)
        beside = inner + rng.uniform(-0.2, 1.2) * (outer - inner)
        start, along = {
            "long": (beside + rng.normal(size=3) * 150.0 - way * rng.uniform(0.0, 4e3), way * 8e3),
            "far": (inner + way * rng.uniform(2e3, 4e3), rng.normal(size=3) * 50.0),
            "any": (
                beside + way * rng.uniform(40.0, 2e3),
                rng.normal(size=3) * rng.choice([1e-3, 50.0, 2e3, 4e3]),
            ),
            "near": (beside + way * rng.uniform(30.0, 90.0), rng.normal(size=3) * 30.0),
        }[kind]
        ends = (tuple(np.clip(end, -4999.0, 4999.0)) for end in (start, start + along))
        carrier, sizes = rng.choice(["chassis", "upright"]), rng.choice([[0.1, 0.0], [60.0, 40.0]])
        names = ("start", "end", "diameter", "gap")
        tube = dict(zip(names, (*ends, *sizes), strict=True))
        tubes.append(Tube(name=f"tube {k}", fixed_to=carrier, **tube))
    return tuple(tubes)


@pytest.mark.slow
@pytest.mark.parametrize("lock", [None, 0.0], ids=["with its lock", "without a lock"])
@pytest.mark.parametrize("kind", ["long", "far", "any", "near"])
@pytest.mark.parametrize("name", ["track-wishbone", "tension-link-strut"])
def test_a_custom_pivot_is_the_same_as_if_no_tube_were_left_out(monkeypatch, name, kind, lock):
    case = read_car(CASES / f"{name}.toml").case
    changes = {"obstacles": (*case.obstacles, *tubes_around(case, kind, 1))}
    if lock is not None:
        changes["steering"] = case.steering.model_copy(update={"rack_travel": lock})
    vehicle, told = Vehicle((case.model_copy(update=changes),)), []
    for most in (near.FEW, 1_000):
        monkeypatch.setattr(near, "FEW", most)
        told.append(suggest(vehicle, plan=SuggestPlan(custom=True)).model_dump_json())
    assert told[0] == told[1]
