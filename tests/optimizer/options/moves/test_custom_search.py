"""The search for a custom pivot against a global optimizer of another kind, given more to spend."""

import re
import sys
from collections.abc import Sequence

import numpy as np
import pytest
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy.optimize import differential_evolution

from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import case_from_toml
from optimizer.files.kits import read_kits
from optimizer.models.case import Case
from optimizer.models.stacks import buildable_stacks
from optimizer.options.hardware import case_with_kit
from optimizer.options.moves.fits import fitted_moves
from optimizer.options.moves.lots import CustomCar, lots_of
from optimizer.options.moves.polish import least_score, refined
from optimizer.options.moves.scores import CustomScores, score
from optimizer.options.moves.search import run_custom_study
from optimizer.options.moves.space import CustomSpace
from optimizer.options.study.run import StudyPlan
from tests.optimizer.options.moves.custom_cars import CASES, both_wheels

SEEDS = 10
TIMES = 10  # evaluations that the other optimizer may spend for each of ours, and at least
LEAST = 10_000
POPULATION = 15  # times the unknowns
KITS = ("Washer set on the standard stud", "Long tapered stud", "Straight bolt, small rod end")
NEEDED = 9  # of the seeds on which the study must end no worse
SAME_DEG = 1e-4  # a hundredth of what a gauge tells apart, and what the polish's spare gap costs
GAUGE = float(np.radians(0.01))  # a gauge tells no less
PENALTY = 1e3  # deg; any pivot that breaks a limit is worse than all that keep them

Array = NDArray[np.float64]


def mixed_case(car: str = "lowered-strut") -> Case:
    """Rack spacers and ball-joint drops of a demo car, and a box too small for a cure."""
    text = (CASES / f"{car}.toml").read_text()
    (room,) = re.findall(r"\nouter = .*z = .*", text)
    text = text.replace(room, "\nouter = { x = [-6.0, 6.0], y = [-8.0, 8.0], z = [-10.0, 2.0] }")
    return case_from_toml(f"{text}\n[lower_ball_joint]\ndrop = [0.0, 15.0, 30.0]\n", "car")


def mixed_scores(car: Case) -> CustomScores:
    """Every kit x its stacks x rack spacer x drop x the box, though the box has height."""
    kits = [kit for kit in read_kits(CASES / "kits.toml").kits if kit.name in KITS]
    cases = [case_with_kit(car, kit) for kit in kits]
    space = replace(
        CustomSpace.of(cases),
        stacks=[buildable_stacks(case) for case in cases],
        racks=[(raised, 0.0) for raised in car.rack.spacers],
    )
    shared = Evaluator.of(car)
    return CustomScores([replace(shared, case=case) for case in cases], space)


def evolved(
    wheels: Sequence[CustomScores], seed: int, evaluations: int, shared: Sequence[int] = ()
) -> float:
    """Best score of the worse wheel that differential evolution finds. [deg].

    The unknowns are each wheel's choice and free moves, the places `shared` of a choice once.
    """
    ranges, places = [], []
    for k, wheel in enumerate(wheels):
        choices = [(0, size - 1) for size in wheel.space.sizes]
        own = [place for place in range(4) if not k or place not in shared]
        place_of = {place: len(ranges) + i for i, place in enumerate(own)}
        places.append([place_of.get(place, place) for place in range(4)])
        ranges += [choices[place] for place in own]
    whole = len(ranges)
    for k, wheel in enumerate(wheels):
        places[k] += range(len(ranges), len(ranges) + wheel.space.free.size)
        low, high = wheel.space.low, wheel.space.high
        ranges += list(zip(low[wheel.space.free], high[wheel.space.free], strict=True))
    population = POPULATION * len(ranges)
    parents = np.full(population, np.inf)

    def cost(unknowns: Array) -> Array:
        """Score of unknowns (N, M), one column a pivot of the car."""
        pivots = []
        for wheel, rows in zip(wheels, places, strict=True):
            moves = np.tile(wheel.space.low, (unknowns.shape[1], 1))
            moves[:, wheel.space.free] = unknowns[rows[4:]].T
            pivots.append((wheel, np.round(unknowns[rows[:4]].T).astype(np.intp), moves))
        fine = np.max([score(wheel.peak(*of), of[1]) for wheel, *of in pivots], axis=0)
        told = np.degrees(np.minimum(fine, np.pi))
        # What is no better than its parent dies with or without limits; and looking at these only
        # where that starts is quicker, and can but help the other one.
        rows = np.flatnonzero(told < parents)
        if rows.size:
            broken = [
                wheel.violation_and_clearance(choices[rows], moves[rows], follow=None)[0]
                for wheel, choices, moves in pivots
            ]
            worst = np.max(broken, axis=0)
            told[rows] = np.where(worst > 0.0, PENALTY + worst, told[rows])
        np.minimum(parents, told, out=parents)
        least = int(np.argmin(parents))  # the optimizer puts the best first
        parents[[0, least]] = parents[[least, 0]]
        return told

    found = differential_evolution(
        cost,
        ranges,
        integrality=[True] * whole + [False] * (len(ranges) - whole),
        maxiter=evaluations // population - 1,
        popsize=POPULATION,
        rng=seed,
        polish=False,
        tol=0.0,
        vectorized=True,
        updating="deferred",
    )
    return float(found.fun)


@pytest.mark.slow
@pytest.mark.parametrize("car", ["lowered-strut", "track-wishbone"])
def test_the_study_and_its_polish_end_no_worse_than_evolution_at_ten_times_the_evaluations(
    car, capsys
):
    case, rows = mixed_case(car), []
    for seed in range(SEEDS):
        ours = mixed_scores(case)
        best, *_ = run_custom_study(CustomCar((ours,)), StudyPlan(trials=30, seed=seed)).best
        assert best.violation == 0.0
        theirs = mixed_scores(case)
        other = evolved([theirs], seed, max(TIMES * ours.scored, LEAST))
        rows.append(
            (
                seed,
                ours.scored,
                float(np.degrees(best.score)),
                theirs.scored,
                other,
            )
        )
    settings = " x ".join(str(size) for size in mixed_scores(case).space.sizes)
    table = [
        f"\n{car}, {settings} kits, stacks, raises, drops x x, y, z; "
        "score in deg (peak and 0.001 per mm moved)",
        "seed  scored  study and polish  scored  differential evolution",
        *("{:4d}  {:6d}  {:16.5f}  {:6d}  {:22.5f}".format(*row) for row in rows),
    ]
    with capsys.disabled():
        sys.stdout.write("\n".join(table) + "\n")
    assert sum(row[2] <= row[4] + SAME_DEG for row in rows) >= NEEDED


@pytest.fixture(scope="module")
def narrow() -> CustomScores:
    """A small box on the same car, with nothing else to choose."""
    case = mixed_case()
    space = replace(CustomSpace.of([case]), racks=[(0.0, 0.0)], linkages=[case.linkage_choices[:1]])
    return CustomScores([Evaluator.of(case)], space)


ONLY = np.zeros(4, dtype=np.intp)  # choice where nothing else is to be chosen


def test_the_refinement_finds_what_a_fine_grid_of_the_box_finds(narrow):
    best = refined(narrow, ONLY, fitted_moves(narrow, ONLY)[0])
    sides = [np.linspace(narrow.space.low[k], narrow.space.high[k], 25) for k in range(3)]
    grid = np.stack([g.ravel() for g in np.meshgrid(*sides)], axis=-1)
    moves = np.hstack([grid, np.zeros((len(grid), 3))])
    least = score(narrow.peak(np.tile(ONLY, (len(grid), 1)), moves), moves).min()
    assert best.violation[0] == 0.0
    assert best.score[0] <= least
    # A step of the grid is at most 2/3 mm, which moves the toe of this car by less than this.
    assert np.degrees(least - best.score[0]) < 0.05


@pytest.mark.parametrize("corner", [0, 3, 5, 6])
def test_the_refinement_ends_at_the_same_pivot_wherever_it_starts(narrow, corner):
    ends = np.array([narrow.space.low, narrow.space.high])
    far = np.array([ends[(corner >> k) & 1, k] if k < 3 else 0.0 for k in range(6)])
    starts = fitted_moves(narrow, ONLY)[0], far
    for free in (True, False):
        from_fit, from_far = (refined(narrow, ONLY, start, free=free) for start in starts)
        assert np.degrees(abs(from_fit.score[0] - from_far.score[0])) < SAME_DEG


def test_no_pivot_of_a_lot_scores_less_than_its_bounds():
    """Not among those drawn at random, and not what the refinement under all limits finds."""
    scores = mixed_scores(mixed_case("track-wishbone"))
    draw = np.random.default_rng(2)
    for lot in lots_of(CustomCar((scores,)))[::9]:
        (starts,) = lot.starts
        choice, start = starts.choices[0], starts.moves[0]
        bound = np.degrees(starts.score[0])
        held = np.degrees(least_score(scores, choice, start))
        assert bound <= held + SAME_DEG
        assert held <= np.degrees(refined(scores, choice, start).score[0]) + SAME_DEG
        moves = draw.uniform(scores.space.low, scores.space.high, (200, 6))
        choices = np.tile(choice, (200, 1))
        assert np.degrees(score(scores.peak(choices, moves), moves)).min() >= bound - SAME_DEG


def test_of_pivots_that_a_gauge_can_t_tell_apart_the_one_with_fewest_parts_is_recommended():
    scores = mixed_scores(mixed_case())
    outcome = run_custom_study(CustomCar((scores,)), StudyPlan(trials=10))
    pick, best = outcome.recommended, outcome.best
    least = min(one.peak for one in best if one.violation == 0.0)
    near = [one for one in best if one.violation == 0.0 and one.peak <= best[0].peak + GAUGE]
    parts = [scores.space.parts(one.choices[0]) for one in near]
    assert pick.violation == 0.0
    assert np.degrees(pick.peak - least) <= 0.01 + SAME_DEG
    assert scores.space.parts(pick.choices[0]) <= min(parts)


def test_both_wheels_end_no_worse_than_evolution_over_both_at_ten_times_the_evaluations():
    """Ours takes the wheels apart; the other one searches the rack and both boxes at once."""
    car = both_wheels()
    wheels = tuple(
        CustomScores([Evaluator.of(case)], CustomSpace.of([case])) for case in car.wheels
    )
    found = CustomCar(wheels)
    best, *_ = run_custom_study(found, StudyPlan(trials=10)).best
    other = evolved(wheels, 1, max(TIMES * found.scored, LEAST), shared=[0, 2, 3])
    assert best.violation == 0.0
    assert np.degrees(best.score) <= other + SAME_DEG
