"""How fast poses and proofs are, compared within one run with a general-purpose root finder.

All times are processor times, so that a busy machine changes them little.
"""

from pathlib import Path
from time import process_time

import numpy as np
import pytest

from geometry.toe_held import toe_error, toe_error_estimate
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.models.case import Case
from optimizer.options.candidates import Candidates
from optimizer.options.proof import prove
from optimizer.options.space import space_of

from .root_of_constraints import constraints_of, toe_of_poses

ROOT = Path(__file__).parents[2]
WISHBONE = ROOT / "cases" / "track-wishbone.toml"
STRUT = ROOT / "cases" / "lowered-strut.toml"
CARS = pytest.mark.parametrize("car", [WISHBONE, STRUT], ids=lambda path: path.stem)
ANGLE_ATOL_DEG = 1e-9
pytestmark = pytest.mark.benchmark(timer=process_time)


def evaluator_of(car: Path) -> Evaluator:
    return Evaluator.of(read_case(car))


def many_settings(evaluator: Evaluator, count: int) -> Settings:
    draw = np.random.default_rng(0)
    linkage = np.zeros(count, dtype=np.intp)
    return Settings(draw.uniform(0.0, 20.0, count), draw.uniform(-6.0, 6.0, count), linkage)


def seconds_of(work, rounds: int = 3) -> float:
    """Least processor time of a few rounds. [s]."""
    times = []
    for _ in range(rounds):
        start = process_time()
        work()
        times.append(process_time() - start)
    return min(times)


@CARS
def test_a_root_finder_on_the_constraint_equations_finds_the_same_toe(car):
    evaluator = evaluator_of(car)
    setting = Settings.single(9.0, 3.0)
    found = toe_of_poses(constraints_of(evaluator, setting), evaluator.heights)
    wanted = evaluator.toe_change(setting)[0] + evaluator.static_toe
    assert np.degrees(found) == pytest.approx(np.degrees(wanted), rel=0.0, abs=ANGLE_ATOL_DEG)


@CARS
def test_exact_poses_against_a_root_finder(benchmark, row_of_table, car):
    evaluator = evaluator_of(car)
    settings = many_settings(evaluator, 20_000)
    poses = evaluator.poses(0)
    pairs = evaluator.corner.pivots(settings)
    exact = benchmark.pedantic(toe_error, (poses, *pairs), rounds=5, warmup_rounds=1)
    assert np.isfinite(exact).all()
    toe_rate = exact.size / benchmark.stats.stats.min

    some = settings.rows(np.arange(1_000))
    pose_rate = exact[:1_000].size / seconds_of(lambda: evaluator.motion(some, evaluator.travel))

    constraints = constraints_of(evaluator, settings.rows(np.arange(1)))
    slow = seconds_of(lambda: toe_of_poses(constraints, evaluator.heights))
    slow_rate = (evaluator.travel.size + 1) / slow  # ride height is solved on both strokes

    row_of_table(
        f"exact toe at given travel, {car.stem}", f"{toe_rate / 1e6:.2f} M/s", ">= 1.5 M/s"
    )
    row_of_table("  whole pose in closed form (rod_motion)", f"{pose_rate / 1e6:.2f} M/s")
    row_of_table("  whole pose by scipy.optimize.root", f"{slow_rate:,.0f} /s")
    row_of_table("  exact toe / root", f"{toe_rate / slow_rate:,.0f}", ">= 5,000")
    row_of_table("  whole pose / root", f"{pose_rate / slow_rate:,.0f}")


@CARS
def test_the_toe_held_estimate(benchmark, row_of_table, car):
    evaluator = evaluator_of(car)
    settings = many_settings(evaluator, 100_000)
    poses = evaluator.poses(0)
    pairs = evaluator.corner.pivots(settings)
    estimate = benchmark.pedantic(toe_error_estimate, (poses, *pairs), rounds=5, warmup_rounds=1)
    assert np.isfinite(estimate).all()
    rate = estimate.size / benchmark.stats.stats.min
    row_of_table(
        f"toe-held estimate, {car.stem}", f"{rate / 1e6:.1f} M candidate-heights/s", ">= 20 M"
    )


def fine_hardware(tilt_limit_deg: float) -> Case:
    """The wishbone car with 2,001 stack heights and 50 rack spacers."""
    spacers = [round(-10.0 + 0.4 * k, 3) for k in range(50)]
    text = WISHBONE.read_text(encoding="utf-8")
    for old, new in (
        ("max = 30.0, step = 0.5", "max = 40.0, step = 0.02"),
        ("spacers = [0.0, 2.0, 4.0, 6.0, 8.0]", f"spacers = {spacers}"),
        ("tilt_limit_deg = 14.0", f"tilt_limit_deg = {tilt_limit_deg}"),
    ):
        assert old in text
        text = text.replace(old, new)
    return case_from_toml(text, "fine")


@pytest.mark.parametrize(
    ("about", "tilt_limit_deg"),
    [("the rim stops the best", 14.0), ("the joint stops the best 11,000", 9.2)],
)
def test_a_hundred_thousand_settings_are_certified(benchmark, row_of_table, about, tilt_limit_deg):
    case = fine_hardware(tilt_limit_deg)

    def certified():
        candidates = Candidates.of(Evaluator.of(case), space_of(case))
        return candidates.allowed.size, prove(candidates, wanted=6)

    combinations, proof = benchmark.pedantic(certified, rounds=1, warmup_rounds=0)
    assert combinations >= 100_000
    assert proof.fitting.size == 6
    assert Evaluator.of(case).travel.size == 25
    row_of_table(
        f"{combinations:,} settings x 25 heights certified, {about}",
        f"{benchmark.stats.stats.min:.2f} s",
        "< 1 s",
    )
